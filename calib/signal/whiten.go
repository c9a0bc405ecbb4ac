package signal

// whitenOrder is how many samples the whitening filter looks back.
const whitenOrder = 8

// burg returns the prediction-error filter 1, a1, a2, ... of the samples by
// Burg's method; nil where the samples are too few or all the same.
func burg(x []float64, order int) []float64 {
	n := len(x)
	if n < 4*order {
		return nil
	}
	f, b := append([]float64(nil), x...), append([]float64(nil), x...)
	a := make([]float64, 1, order+1)
	a[0] = 1
	for m := 1; m <= order; m++ {
		var num, den float64
		for i := m; i < n; i++ {
			num += f[i] * b[i-1]
			den += f[i]*f[i] + b[i-1]*b[i-1]
		}
		if den == 0 {
			return nil
		}
		k := -2 * num / den
		for i := n - 1; i >= m; i-- {
			f[i], b[i] = f[i]+k*b[i-1], b[i-1]+k*f[i]
		}
		a = levinsonStep(a, k)
	}
	return a
}

// levinsonStep is one step of Levinson's recursion.
func levinsonStep(a []float64, k float64) []float64 {
	m := len(a)
	next := append(append([]float64(nil), a...), 0)
	for i := 1; i <= m; i++ {
		next[i] += k * a[m-i+0]
	}
	return next
}

// whiten filters x with a prediction-error filter; the first samples, which
// have no past, are left out as zeros.
func whiten(x, filter []float64) []float64 {
	y := make([]float64, len(x))
	for i := len(filter) - 1; i < len(x); i++ {
		for j, c := range filter {
			y[i] += c * x[i-j]
		}
	}
	return y
}
