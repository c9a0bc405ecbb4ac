package playback

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// The pitches are those of equal temperament on A = 440 Hz (ISO 16:1975), as tables of
// them print (from memory).
func TestHz(t *testing.T) {
	for _, c := range []struct{ halfSteps, hz float64 }{{0, 440}, {3, 523.25}, {7, 659.26}, {-9, 261.63}, {12, 880}, {-17, 164.81}} {
		if got := Hz(c.halfSteps); math.Abs(got-c.hz) > 0.005 {
			t.Errorf("%g half steps: %.3f Hz, want %.2f", c.halfSteps, got, c.hz)
		}
	}
}

func peak(x []float32) float64 {
	var p float64
	for _, v := range x {
		p = math.Max(p, math.Abs(float64(v)))
	}
	return p
}

// At any rate every tone stays below −12 dBFS, begins and ends in silence, never
// jumps, and carries nothing that the rate cannot.
func TestTonesAreSoft(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		rate := rapid.Float64Range(4000, 192000).Draw(t, "rate")
		tone := rapid.SampledFrom(Teach()).Draw(t, "tone").Tone
		x := tone.Sound(rate)
		if p := peak(x); p > math.Pow(10, -12./20) || p < 0.05 {
			t.Fatalf("%s peaks at %.1f dBFS", tone, 20*math.Log10(p))
		}
		if x[0] != 0 || math.Abs(float64(x[len(x)-1])) > 1e-3 {
			t.Fatalf("%s begins at %g and ends at %g", tone, x[0], x[len(x)-1])
		}
		steepest := loudest * 2 * math.Pi * 2 * Hz(12) / rate
		for i := 1; i < len(x); i++ {
			if d := math.Abs(float64(x[i] - x[i-1])); d > steepest {
				t.Fatalf("%s jumps by %g at %d", tone, d, i)
			}
		}
	})
}

// Every tone is taught, and told apart by contour or rhythm: when it sounds, how
// loud, and where its pitch goes, in tenths of a second.
func TestTonesDiffer(t *testing.T) {
	if len(Teach()) != len(scores) {
		t.Errorf("%d tones are taught, there are %d", len(Teach()), len(scores))
	}
	shapes := map[Tone][]float64{}
	for _, l := range Teach() {
		shapes[l.Tone] = contour(l.Tone.Sound(16000), 16000)
		if len(l.What) < 10 {
			t.Errorf("%s is not taught", l.Tone)
		}
	}
	for a, x := range shapes {
		for b, y := range shapes {
			if a < b && alike(x, y) {
				t.Errorf("%s and %s sound alike to somebody who does not know pitches", a, b)
			}
		}
	}
}

// contour is, for each tenth of a second, whether it sounds, and by how many half
// steps its loudest pitch lies above the first one's.
func contour(x []float32, rate int) []float64 {
	n := rate / 20
	var c []float64
	first := 0.0
	for at := 0; at+n <= len(x); at += n {
		var y [1 << 12]float64
		for i := range n {
			y[i] = float64(x[at+i])
		}
		if peak(x[at:at+n]) < 0.03 {
			c = append(c, -99)
			continue
		}
		top, most := 0, 0.0
		for k, v := range fourier.NewFFT(len(y)).Coefficients(nil, y[:]) {
			if p := math.Hypot(real(v), imag(v)); p > most {
				top, most = k, p
			}
		}
		pitch := 12 * math.Log2(float64(top))
		if first == 0 {
			first = pitch
		}
		c = append(c, math.Round(pitch-first))
	}
	return c
}

// alike reports whether two contours differ in less than a sixth.
func alike(a, b []float64) bool {
	n, differ := max(len(a), len(b)), 0
	for i := range n {
		if i >= len(a) || i >= len(b) || math.Abs(a[i]-b[i]) > 1 {
			differ++
		}
	}
	return differ*6 < n
}

// Late sinks and early climbs, all the way.
func TestLateSinksEarlyClimbs(t *testing.T) {
	for tone, way := range map[Tone]float64{Late: -1, Early: 1} {
		last, moves := 0.0, 0
		for _, c := range contour(tone.Sound(16000), 16000) {
			if c == -99 {
				continue
			}
			if way*(c-last) < 0 {
				t.Errorf("%s goes back from %g to %g half steps", tone, last, c)
			}
			if c != last {
				moves++
			}
			last = c
		}
		if way*last < 8 || moves < 6 {
			t.Errorf("%s ends at %g half steps in %d moves", tone, last, moves)
		}
	}
}

func TestChime(t *testing.T) {
	c, want := NewChime(8000), Early.Sound(8000)
	c.Ring(Late)
	c.Ring(Early)
	buf, got := make([]float32, 100), []float32(nil)
	for c.Fill(buf) {
		got = append(got, buf...)
	}
	for i, v := range got {
		if i < len(want) && v != want[i] || i >= len(want) && v != 0 {
			t.Fatalf("sample %d is %g", i, v)
		}
	}
	if len(got) < len(want) || Tone("nothing").Sound(8000) != nil || Late.Sound(0) != nil {
		t.Errorf("%d of %d samples", len(got), len(want))
	}
	c.Ring("nothing")
	if c.Fill(buf) {
		t.Error("a tone that is not known sounds")
	}
	if n := testing.AllocsPerRun(100, func() { c.Ring(Trouble); c.Fill(buf) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}
