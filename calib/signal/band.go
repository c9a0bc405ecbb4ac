package signal

import "math"

// biquad is a second-order Butterworth section in direct form I, in which only
// one product waits for the sample before.
type biquad struct {
	gain, middle float64 // of the samples that go in: gain·(x + middle·x1 + x2)
	a1, a2       float64
	past
}

// past is all that a filter remembers.
type past struct {
	x1, x2 float64 // the last samples that went in
	y1, y2 float64 // and came out
}

// highPass and lowPass return sections with a corner in Hz, by the bilinear
// transform.
func highPass(cornerHz, rate float64) biquad {
	k := math.Tan(math.Pi * cornerHz / rate)
	n := 1 / (1 + math.Sqrt2*k + k*k)
	return biquad{gain: n, middle: -2, a1: 2 * (k*k - 1) * n, a2: (1 - math.Sqrt2*k + k*k) * n}
}

func lowPass(cornerHz, rate float64) biquad {
	f := highPass(cornerHz, rate)
	k := math.Tan(math.Pi * cornerHz / rate)
	f.gain, f.middle = k*k*f.gain, 2
	return f
}

func (f *biquad) run(x float64) float64 {
	y := f.gain*(x+f.middle*f.x1+f.x2) - f.a2*f.y2 - f.a1*f.y1
	f.x1, f.x2, f.y1, f.y2 = x, f.x1, y, f.y1
	return y
}

// settle sets a high-pass as if x had lasted for ever, so that an offset makes no
// step.
func (f *biquad) settle(x float64) { f.x1, f.x2 = x, x }

// band is what a high-pass and, where the rate has room for one, a low-pass let
// through.
type band struct {
	high, low biquad
	both      bool
}

func newBand(rate float64) band {
	return band{highPass(lowHz, rate), lowPass(highHz, rate), rate > 3*highHz}
}
