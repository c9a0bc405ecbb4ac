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
	f.z1 = f.b1*x + f.z2 - f.a1*y // what waits for y comes last
	f.z2 = f.b2*x - f.a2*y
	return y
}

// settle sets a high-pass as if x had lasted for ever, so that an offset makes no
// step.
func (f *biquad) settle(x float64) { f.z1, f.z2 = -f.b0*x, f.b2*x }

// band is what a high-pass and, where the rate has room for one, a low-pass let
// through.
type band struct {
	high, low biquad
	both      bool
}

func newBand(lowHz, rate float64) band {
	return band{highPass(lowHz, rate), lowPass(highHz, rate), rate > 3*highHz}
}

// run filters x in place.
func (b *band) run(x []float64) {
	high, low := b.high, b.low // kept out of memory in the loop
	for i, v := range x {
		v = high.run(v)
		if b.both {
			v = low.run(v)
		}
		x[i] = v
	}
	b.high, b.low = high, low
}
