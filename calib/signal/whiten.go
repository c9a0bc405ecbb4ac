package signal

import (
	"slices"

	"gonum.org/v1/gonum/floats"
)

// whitenOrder is how many samples the whitening filter looks back.
const whitenOrder = 8

// burg returns the prediction-error filter 1, a1, a2, ... of the samples by
// Burg's method, as if white noise of a power lay under them; nil where the samples are
// too few or all the same.
func burg(x []float64, order int, noise float64) []float64 {
	n := len(x)
	if n < 4*order {
		return nil
	}
	// What is left of the samples ahead and behind, side by side.
	ahead, behind := slices.Clone(x[1:]), slices.Clone(x[:n-1])
	a := []float64{1}
	for m := range order {
		noise := noise * float64(len(ahead)) // of which both know as much as the filter so far lets through
		num, den := dot(ahead, behind), dot(ahead, ahead)+dot(behind, behind)+2*noise*energy(a)
		if den == 0 {
			return nil
		}
		for i := 1; i <= m; i++ {
			num += noise * a[i] * a[m+1-i]
		}
		k := -2 * num / den
		for i, f := range ahead {
			b := behind[i]
			ahead[i], behind[i] = f+k*b, b+k*f
		}
		ahead, behind = ahead[1:], behind[:len(behind)-1]
		next := append(slices.Clone(a), 0) // Levinson's recursion
		for i := range a {
			next[i+1] += k * a[len(a)-1-i]
		}
		a = next
	}
	return a
}

// whiten filters x with a prediction-error filter; the first samples, which
// have no past, are left out as zeros.
func whiten(x, filter []float64) []float64 {
	y := make([]float64, len(x))
	if first := len(filter) - 1; first < len(x) {
		for j, c := range filter {
			floats.AddScaled(y[first:], c, x[first-j:len(x)-j])
		}
	}
	return y
}
