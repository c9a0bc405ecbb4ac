package handsfree

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// sound is a stretch of sound: so many seconds at a rate, summed from functions
// of time in s.
func sound(seconds, rateHz float64, parts ...func(t float64) float64) []float32 {
	x := make([]float32, int(seconds*rateHz))
	for i := range x {
		for _, p := range parts {
			x[i] += float32(p(float64(i) / rateHz))
		}
	}
	return x
}

func sine(hz, amplitude, phase float64) func(float64) float64 {
	return func(t float64) float64 { return amplitude * math.Sin(2*math.Pi*hz*t+phase) }
}

func hiss(seed uint64, rms float64) func(float64) float64 {
	r := random(seed)
	return func(float64) float64 { return rms * r.NormFloat64() }
}

// AES17 (from memory): full scale is the RMS of a 997 Hz sine whose positive peak reaches
// digital full scale, and its level is 0 dBFS. A square wave of the same peak has
// +3.01 dBFS by that.
func TestDBFS(t *testing.T) {
	const rate = 48000
	l := Hear(sound(1, rate, sine(997, 1, 0)))
	if p, r := PeakDBFS(l.Peak), RMSDBFS(l.RMS); math.Abs(p) > 0.01 || math.Abs(r) > 0.001 {
		t.Errorf("full-scale sine: peak %.4f dBFS, RMS %.4f dBFS, want 0 and 0", p, r)
	}
	square := sound(1, rate, func(t float64) float64 { return math.Copysign(1, math.Sin(2*math.Pi*997*t)) })
	if r := RMSDBFS(Hear(square).RMS); math.Abs(r-3.0103) > 0.01 {
		t.Errorf("full-scale square wave: RMS %.4f dBFS, want 3.01", r)
	}
	if l := Hear(sound(1, rate, sine(997, 0.1, 0), func(float64) float64 { return 0.3 })); math.Abs(RMSDBFS(l.RMS)+20) > 0.01 {
		t.Errorf("an offset counts as sound: %.2f dBFS", RMSDBFS(l.RMS))
	}
}

func TestHearDoesNotAllocate(t *testing.T) {
	x := sound(0.3, 48000, hiss(3, 0.1))
	if n := testing.AllocsPerRun(10, func() { Hear(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
	if l := Hear(nil); !l.Silent || l.Clipped != 0 {
		t.Errorf("of no samples: %+v", l)
	}
}

func TestGrades(t *testing.T) {
	clipped := sound(0.2, 48000, func(t float64) float64 { return math.Max(-1, math.Min(1, 1.5*math.Sin(900*t))) })
	for _, c := range []struct {
		x     []float32
		noise float64
		want  Grade
	}{
		{clipped, 0, Clipping},
		{sound(0.2, 48000), 0, NoSound},
		{sound(0.2, 48000, sine(500, 0.9, 0)), 0, TooHot},
		{sound(0.2, 48000, sine(500, 0.3, 0)), 0.0005, Good},
		{sound(0.2, 48000, sine(500, 0.3, 0)), 0.05, TooQuiet},
		{sound(0.2, 48000, sine(500, 0.005, 0)), 0, TooQuiet},
	} {
		g := Hear(c.x).Grade(c.noise)
		if g != c.want || (g.Do() == "") != (g == Good) {
			t.Errorf("%s %q, want %s", g, g.Do(), c.want)
		}
	}
}

// Noise and hum are told apart and each measured at its own strength, also where
// the mains are off by what EN 50160 allows.
func TestQuiet(t *testing.T) {
	for _, c := range []struct{ hz, off, hum, noise float64 }{
		{50, 0, 0.01, 0.002}, {60, 0, 0.01, 0.002}, {50, 0.4, 0.01, 0.002}, {60, -0.3, 0.003, 0.01}, {0, 0, 0, 0.01}, {0, 0, 0, 0.0001},
	} {
		x := sound(4, 44100, hiss(4, c.noise), func(float64) float64 { return 0.02 }, sine(c.hz+c.off, c.hum, 1), sine(3*(c.hz+c.off), c.hum/2, 2))
		n, ok := Quiet(x, 44100)
		hum := c.hum * math.Hypot(1, 0.5) / math.Sqrt2
		if !ok || n.HumHz != c.hz || math.Abs(n.Hum-hum) > 0.1*hum || math.Abs(n.RMS/c.noise-1) > 0.03 {
			t.Errorf("%+v, want hum %.5f at %g Hz in noise of %g", n, hum, c.hz, c.noise)
		}
	}
	if _, ok := Quiet(sound(0.5, 44100), 44100); ok {
		t.Error("half a second was enough")
	}
	knocks := sound(2, 44100, hiss(4, 0.001), func(at float64) float64 { return 0.3 * math.Exp(-20*math.Mod(at, 0.8)) * math.Sin(900*at) })
	if n, ok := Quiet(knocks, 44100); ok {
		t.Errorf("knocks are taken for noise of %.4f", n.RMS)
	}
}

func TestNoiseWords(t *testing.T) {
	for _, c := range []struct {
		n    Noise
		want string
	}{
		{Noise{RMS: 0.0002}, "Quiet enough"},
		{Noise{RMS: 0.0002, Hum: 0.0005, HumHz: 50}, "Quiet enough"},
		{Noise{RMS: 0.0002, Hum: 0.02, HumHz: 50}, "Mains hum"},
		{Noise{RMS: 0.02, Hum: 0.002, HumHz: 60}, "Noisy"},
	} {
		if w := c.n.Words(); !strings.HasPrefix(w, c.want) || c.n.Bad() == strings.HasPrefix(w, "Quiet") {
			t.Errorf("%+v: %q", c.n, w)
		}
	}
}

// moments is what channels carry, by hundredths of a second, with taps of given
// peaks at given moments.
func moments(n, channels int, taps map[int][]float64) []Moment {
	r := random(9)
	m := make([]Moment, n)
	for i := range m {
		m[i] = Moment{AtS: float64(i) / 100, Peaks: make([]float64, channels)}
		for c := range channels {
			m[i].Peaks[c] = 0.001 * (0.5 + r.Float64())
		}
	}
	for at, peaks := range taps {
		for c, p := range peaks {
			for d := range 8 {
				m[at+d].Peaks[c] = math.Max(m[at+d].Peaks[c], p*math.Pow(0.6, float64(d)))
			}
		}
	}
	return m
}

func TestTaps(t *testing.T) {
	taps := Taps(moments(400, 3, map[int][]float64{50: {0.02, 0.4, 0.01}, 150: {0.5, 0.06, 0.02}, 250: {0.4, 0.39, 0.1}, 320: {0, 0.1, 0.6}}))
	var got []int
	for _, tap := range taps {
		got = append(got, tap.Channel)
		if (tap.Channel == 0) != (tap.Text != "") {
			t.Errorf("%+v", tap)
		}
	}
	if !slices.Equal(got, []int{2, 1, 0, 3}) || taps[0].AtS != 0.5 {
		t.Errorf("%+v", taps)
	}
	if roles, err := Roles(taps, 3); err != nil || !slices.Equal(roles, []int{2, 1, 3}) {
		t.Errorf("%v, %v", roles, err)
	}
	if _, err := Roles(taps[:1], 2); err == nil || !strings.Contains(err.Error(), "1 of 2") {
		t.Errorf("%v", err)
	}
	late := moments(200, 2, map[int][]float64{50: {0.05, 0}})
	for d := range 8 {
		late[53+d].Peaks[1] = 0.5
	}
	if taps := Taps(late); len(taps) != 1 || taps[0].Channel != 0 {
		t.Errorf("heard elsewhere first: %+v", taps)
	}
	if taps := Taps(moments(300, 2, nil)); len(taps) > 0 {
		t.Errorf("taps out of nothing: %+v", taps)
	}
}

// The skew is the mean of the differences, positive where the voice's channel is
// the later one; the uncertainty is that of the mean, by Student (JCGM 100:2008,
// 4.2.3, G.3.2, table G.2, from memory), together with a sample's width (F.2.2.1: 0.29 of it).
func TestZero(t *testing.T) {
	reference := []float64{1, 2, 3, 4}
	voice := []float64{1.0002, 2.0003, 3.0004, 4.0003}
	s, err := Zero(reference, voice, 48000)
	spread := math.Sqrt(0.02/3) / 2 // of the mean of 0.2, 0.3, 0.4, 0.3 ms
	want := math.Hypot(3.18/1.96*spread, 0.2887*1000/48000)
	if err != nil || math.Abs(s.MS-0.3) > 1e-9 || math.Abs(s.UncertaintyMS-want) > 0.0002 || s.Knocks != 4 {
		t.Errorf("%+v, %v; want 0.3 with %.4f", s, err, want)
	}
	one, err := Zero(reference[:1], voice[:1], 48000)
	if err != nil || math.Abs(one.UncertaintyMS-math.Hypot(0.3/math.Sqrt(3), 0.00601)) > 1e-4 || one.Knocks != 1 {
		t.Errorf("one knock: %+v, %v", one, err)
	}
	early, _ := Zero(voice, reference, 48000)
	if math.Abs(early.MS+0.3) > 1e-9 {
		t.Errorf("the other way round: %g ms, want -0.3", early.MS)
	}
}

func TestZeroRefuses(t *testing.T) {
	for _, c := range []struct {
		reference, voice []float64
		want             string
	}{
		{nil, nil, "no knock was heard"},
		{[]float64{1}, nil, "by both channels"},
		{[]float64{1, 2}, []float64{1, 2, 3}, "only 2 of 3"},
		{[]float64{1, 2}, []float64{1, 2.002}, "disagree"},
		{[]float64{1, 2}, []float64{1.012, 2.012}, "12.0 ms apart"},
	} {
		if s, err := Zero(c.reference, c.voice, 48000); err == nil || !strings.Contains(err.Error(), c.want) || s.Known() {
			t.Errorf("%v and %v: %+v, %v; want %q", c.reference, c.voice, s, err, c.want)
		}
	}
}

// Turning a channel up turns up what is measured, and nothing else.
func TestLevelsScale(t *testing.T) {
	x := sound(0.3, 48000, hiss(5, 0.02), sine(50, 0.01, 0))
	deeptest.Check(t, func(t *rapid.T) {
		gain := rapid.Float64Range(0.01, 5).Draw(t, "gain")
		y := make([]float32, len(x))
		for i, v := range x {
			y[i] = float32(gain * float64(v))
		}
		a, b := Hear(x), Hear(y)
		for _, p := range [][2]float64{{a.Peak, b.Peak}, {a.RMS, b.RMS}} {
			if math.Abs(p[1]-gain*p[0]) > 1e-4*gain*p[0] {
				t.Fatalf("%+v became %+v at gain %g", a, b, gain)
			}
		}
	})
}
