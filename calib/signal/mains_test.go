package signal

import (
	"math"
	"math/rand/v2"
	"testing"
)

// humming is seconds of hum at a frequency with its third harmonic, over hiss.
func humming(rate, seconds, hz, amplitude, hiss float64) []float32 {
	r := rand.New(rand.NewPCG(3, 5))
	x := make([]float32, int(rate*seconds))
	for i := range x {
		t := 2 * math.Pi * hz * float64(i) / rate
		x[i] = float32(amplitude*math.Sin(t+0.4) + amplitude/2*math.Cos(3*t) + hiss*r.NormFloat64())
	}
	return x
}

// mainsOf is findMains of a whole channel.
func mainsOf(x []float32, rate float64) *mains {
	s := newSlow(rate, int64(len(x)))
	s.feed(x)
	top, _ := extremes(append([]float32{0}, x...))
	return findMains(s, rate, top)
}

func rms(x []float32) float64 {
	var sum float64
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return math.Sqrt(sum / float64(len(x)))
}

// TestMainsAreTakenOut: of a pure hum nothing is left, whatever the rate and
// wherever reading begins; what is left of one in hiss is the hiss.
func TestMainsAreTakenOut(t *testing.T) {
	for _, rate := range []float64{8000, 44100, 48000} {
		for _, hz := range []float64{49.93, 60.05} {
			pure := humming(rate, 9, hz, 0.2, 0)
			was := rms(pure)
			m := mainsOf(pure, rate)
			if m == nil || math.Abs(m.hz-hz) > 0.005 {
				t.Fatalf("%g Hz at %g: found %+v", hz, rate, m)
			}
			m.takeOut(pure[1234:], 1234)
			if left := rms(pure[1234:]) / was; left > 0.02 {
				t.Errorf("%g Hz at %g: %.1f %% of a pure hum is left", hz, rate, 100*left)
			}
		}
	}
	const hiss = 0.01
	x := humming(48000, 9, 50, 0.2, hiss)
	mainsOf(x, 48000).takeOut(x, 0)
	if left := rms(x); left < 0.97*hiss || left > 1.05*hiss {
		t.Errorf("%.5f is left over hiss of %g", left, hiss)
	}
}

// TestMainsLeaveTheStrikes: what is taken out of hum with strikes in it is the
// hum, so that the strikes alone are left.
func TestMainsLeaveTheStrikes(t *testing.T) {
	const rate = 48000
	x, alone := humming(rate, 9, 50.02, 0.1, 0), make([]float32, 9*rate)
	for at := rate / 3; at+rate/10 < len(x); at += rate * 7 / 10 {
		for i := range rate / 10 {
			s := float64(i) / rate
			v := float32(0.8 * math.Exp(-s/0.02) * math.Sin(2*math.Pi*180*s))
			x[at+i], alone[at+i] = x[at+i]+v, alone[at+i]+v
		}
	}
	mainsOf(x, rate).takeOut(x, 0)
	for i := range x {
		x[i] -= alone[i]
	}
	if left := rms(x) / rms(humming(rate, 9, 50.02, 0.1, 0)); left > 0.05 {
		t.Errorf("%.1f %% of the hum is left under the strikes, or that much of them was taken", 100*left)
	}
}

// TestNoMains: hiss, other tones, hum too weak to matter and takes too short to
// tell have none.
func TestNoMains(t *testing.T) {
	faint := humming(48000, 9, 50, 0.002, 0.001)
	faint[70000] = 0.9
	for name, x := range map[string][]float32{
		"hiss": humming(48000, 9, 50, 0, 0.1), "another tone": humming(48000, 9, 53, 0.2, 0.001),
		"faint hum": faint, "a second": humming(48000, 1, 50, 0.2, 0), "nothing": nil,
	} {
		if m := mainsOf(x, 48000); m != nil {
			t.Errorf("%s: found mains of %g Hz", name, m.hz)
		}
	}
}
