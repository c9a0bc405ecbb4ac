package practice

import (
	"math"
	"testing"
)

// bisect returns a zero of f between a and b, where f changes sign.
func bisect(f func(float64) float64, a, b float64) float64 {
	for range 60 {
		if mid := (a + b) / 2; (f(mid) > 0) == (f(a) > 0) {
			a = mid
		} else {
			b = mid
		}
	}
	return (a + b) / 2
}

// zeros returns the first n zeros of f above 1, which lie more than step apart.
func zeros(f func(float64) float64, n int) []float64 {
	const step = 0.05
	var found []float64
	for x := 1.0; len(found) < n; x += step {
		if (f(x) > 0) != (f(x+step) > 0) {
			found = append(found, bisect(f, x, x+step))
		}
	}
	return found
}

// TestMembraneRatios computes the zeros of the Bessel functions with Go's math
// library: an ideal round membrane sounds at the zeros of Jm, m the number of
// nodal diameters.
func TestMembraneRatios(t *testing.T) {
	jn := func(m int) []float64 { return zeros(func(x float64) float64 { return math.Jn(m, x) }, 2) }
	first := jn(0)[0]
	want := []float64{first, jn(1)[0], jn(2)[0], jn(0)[1], jn(3)[0], jn(1)[1]}
	for i, w := range want {
		if math.Abs(membrane[i]-w/first) > 1e-4 {
			t.Errorf("mode %d at ratio %g, want %.4f", i, membrane[i], w/first)
		}
	}
}

// TestFreeBarRatios solves cos x · cosh x = 1, the characteristic equation of a
// free-free Euler-Bernoulli bar; frequencies go as x².
func TestFreeBarRatios(t *testing.T) {
	x := zeros(func(x float64) float64 { return math.Cos(x) - 1/math.Cosh(x) }, 3)
	for i := range freeBar {
		if want := x[i] * x[i] / (x[0] * x[0]); math.Abs(freeBar[i]-want) > 1e-4 {
			t.Errorf("mode %d at ratio %g, want %.4f", i, freeBar[i], want)
		}
	}
}

// byRungeKutta integrates x″ + 2αx′ + ω₀²x = force in small steps and returns
// x″ at the given times, which must rise.
func byRungeKutta(m Mode, contactS float64, times []float64) []float64 {
	w2, alpha := math.Pow(2*math.Pi*m.Hz, 2), 3*math.Ln10/m.DecayS
	acceleration := func(t, x, v float64) float64 {
		a := -2*alpha*v - w2*x
		if t < contactS {
			a += math.Sin(math.Pi * t / contactS)
		}
		return a
	}
	var t, x, v float64
	out := make([]float64, len(times))
	for i, until := range times {
		n := max(int(math.Ceil((until-t)/1e-6)), 1)
		h := (until - t) / float64(n)
		for range n {
			a1 := acceleration(t, x, v)
			x2, v2 := x+h/2*v, v+h/2*a1
			a2 := acceleration(t+h/2, x2, v2)
			x3, v3 := x+h/2*v2, v+h/2*a2
			a3 := acceleration(t+h/2, x3, v3)
			x4, v4 := x+h*v3, v+h*a3
			a4 := acceleration(t+h, x4, v4)
			x += h / 6 * (v + 2*v2 + 2*v3 + v4)
			v += h / 6 * (a1 + 2*a2 + 2*a3 + a4)
			t += h
		}
		out[i] = acceleration(t, x, v)
	}
	return out
}

// TestStrikeSolvesTheMode compares the closed form with a numerical solution of
// the differential equation, for strikes that begin between samples.
func TestStrikeSolvesTheMode(t *testing.T) {
	const rate, atS, frames = 48000, 0.00123456, 1500
	for _, tc := range []struct {
		mode      Mode
		contactMS float64
	}{
		{Mode{Hz: 118, DecayS: 0.42, Weight: 1}, 2.6},
		{Mode{Hz: 655, DecayS: 0.09, Weight: 1}, 0.8},
		{Mode{Hz: 6349, DecayS: 0.2, Weight: 1}, 0.35},
	} {
		in := instrument{rate: rate, contactS: tc.contactMS / 1000}
		in.modes = []voicedMode{tc.mode.driven(in.contactS)}
		buf := make([]float32, frames)
		in.strike(buf, atS, 1)

		var times []float64
		first := int(math.Ceil(atS * rate))
		for n := first; n < frames; n++ {
			times = append(times, float64(n)/rate-atS)
		}
		for i, want := range byRungeKutta(tc.mode, in.contactS, times) {
			if got := float64(buf[first+i]); math.Abs(got-want) > 1e-4 {
				t.Fatalf("%g Hz, %.3f ms after contact: %.6f, want %.6f", tc.mode.Hz, 1000*times[i], got, want)
			}
		}
		for n, x := range buf[:first] {
			if x != 0 {
				t.Fatalf("%g Hz sounds at sample %d, before contact", tc.mode.Hz, n)
			}
		}
	}
}

func TestSoundPeaksAtOne(t *testing.T) {
	m := Default()
	sounds := []Sound{m.Reference, m.Reference.throughFrame(), clunk, clatter}
	for _, v := range m.Voices {
		sounds = append(sounds, v.Sound, v.Sound.throughFrame())
	}
	for i, s := range sounds {
		buf := make([]float32, 48000)
		s.prepare(48000).strike(buf, 0.01+0.3/48000, 1)
		// Between samples of a 0.35 ms pulse the true peak hides by up to 2 %.
		if got := peakOf(buf); got > 1.001 || got < 0.97 {
			t.Errorf("sound %d peaks at %.4f, want 1", i, got)
		}
	}
}

// TestHighModesAreLeftOut: a mode above half the rate would fold back as a tone
// that is not there.
func TestHighModesAreLeftOut(t *testing.T) {
	s := Sound{ContactMS: 0.3, Modes: []Mode{{1000, 0.1, 1}, {5000, 0.1, 1}}}
	if got := s.below(8000).Modes; len(got) != 1 || got[0].Hz != 1000 {
		t.Errorf("at 8000 Hz modes %v are left", got)
	}
}

func peakOf(buf []float32) float64 {
	var peak float64
	for _, x := range buf {
		peak = max(peak, math.Abs(float64(x)))
	}
	return peak
}
