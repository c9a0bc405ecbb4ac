package signal

import "math"

// biquad is a second-order filter section in transposed direct form II.
type biquad struct {
	b0, b1, b2, a1, a2 float64
	z1, z2             float64
}

// highPass and lowPass return Butterworth sections with a corner in Hz, by the
// bilinear transform.
func highPass(cornerHz, rate float64) biquad {
	k := math.Tan(math.Pi * cornerHz / rate)
	n := 1 / (1 + math.Sqrt2*k + k*k)
	return biquad{b0: n, b1: -2 * n, b2: n, a1: 2 * (k*k - 1) * n, a2: (1 - math.Sqrt2*k + k*k) * n}
}

func lowPass(cornerHz, rate float64) biquad {
	k := math.Tan(math.Pi * cornerHz / rate)
	n := 1 / (1 + math.Sqrt2*k + k*k)
	return biquad{b0: k * k * n, b1: 2 * k * k * n, b2: k * k * n, a1: 2 * (k*k - 1) * n, a2: (1 - math.Sqrt2*k + k*k) * n}
}

func (f *biquad) run(x float64) float64 {
	y := f.b0*x + f.z1
	f.z1 = f.b1*x - f.a1*y + f.z2
	f.z2 = f.b2*x - f.a2*y
	return y
}

// runAll filters x in place.
func (f *biquad) runAll(x []float64) {
	g := *f // kept out of memory in the loop
	for i, v := range x {
		x[i] = g.run(v)
	}
	*f = g
}

// settle sets a high-pass as if x had lasted for ever, so that an offset makes no
// step.
func (f *biquad) settle(x float64) { f.z1, f.z2 = -f.b0*x, f.b2*x }
