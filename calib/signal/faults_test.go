package signal

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// every10ms is the levels of a channel's blocks, given every 10 ms.
func every10ms(dB ...float64) (levels []float32) {
	for _, l := range dB {
		for range int(0.01 / blockS) {
			levels = append(levels, float32(l))
		}
	}
	return levels
}

// steady is n blocks of a level.
func steady(dB float64, n int) (l []float64) {
	for range n {
		l = append(l, dB)
	}
	return l
}

// TestSilences: a level that breaks off is a drop-out, from when to when and to
// which level; sound that dies away, a short gap, and what was quiet
// from the start is none.
func TestSilences(t *testing.T) {
	noise := steady(-40, 20)
	found := silences(every10ms(slices.Concat(noise, steady(-90, 30), noise)...), nil)
	if len(found) != 1 || math.Abs(found[0].fromS-0.20) > 0.011 || math.Abs(found[0].toS-0.50) > 0.011 || math.Abs(found[0].level+90) > 2 {
		t.Errorf("a drop-out from 0.2 to 0.5 s to -90 dB: found %+v", found)
	}
	if again := breaks(every10ms(slices.Concat(noise, steady(-90, 30), noise, steady(-90, 16), noise)...)); len(again) != 2 {
		t.Errorf("two drop-outs: found %+v", again)
	}
	if end := silences(every10ms(slices.Concat(noise, steady(-90, 30))...), nil); len(end) != 1 || math.Abs(end[0].toS-0.5) > 1e-9 {
		t.Errorf("a drop-out to the end of the take: found %+v", end)
	}
	var dying []float64
	for i := range 40 {
		dying = append(dying, -10-2*float64(i))
	}
	for name, l := range map[string][]float64{
		"sound that dies away": slices.Concat(noise, dying),
		"a gap of ten blocks":  slices.Concat(noise, steady(-90, 10), noise),
		"nothing but quiet":    slices.Concat(steady(-100, 20), steady(-130, 20)),
	} {
		if found := breaks(every10ms(l...)); len(found) > 0 {
			t.Errorf("%s: found %+v", name, found)
		}
	}
}

// TestSilencesBelowTheNoise: only what lacks the channel's own noise is a fault.
func TestSilencesBelowTheNoise(t *testing.T) {
	noise, bell := steady(-60, 20), steady(-30, 300)
	if dB := every10ms(slices.Concat(noise, bell, steady(-64, 30), noise)...); len(breaks(dB)) != 1 || len(silences(dB, nil)) > 0 {
		t.Errorf("a bell that is stopped: %+v, %+v", breaks(dB), silences(dB, nil))
	}
	if dB := every10ms(slices.Concat(noise, bell, steady(-90, 30), noise)...); len(silences(dB, nil)) != 1 {
		t.Errorf("a cable that breaks beside a bell: %+v", breaks(dB))
	}
	// A short sound under noise that swells: its end is no break where many strikes end so.
	var struck []Hit
	var levels []float64
	for i := range 10 {
		struck = append(struck, Hit{TimeS: float64(len(levels)) * 0.01})
		levels = append(slices.Concat(levels, steady(-30, 10)), steady(-60-3*float64(i%5), 40)...)
	}
	if dB := every10ms(levels...); len(silences(dB, nil)) == 0 || len(silences(dB, struck)) > 0 {
		t.Errorf("clicks: %+v are silences, %+v with what is struck", silences(dB, nil), silences(dB, struck))
	}
}

// loose is two seconds of a tone whose contact opens and closes from a moment on,
// so many times, 2 ms apart.
func loose(rate, fromS float64, times int) *jumps {
	return jumpsIn(int(2*rate), func(i int) float64 {
		s := float64(i) / rate
		x := 0.5 * math.Cos(2*math.Pi*90*s)
		if k := int((s - fromS) / 0.002); s >= fromS && k < times && k%2 == 0 {
			x = 0
		}
		return x
	})
}

// jumpsIn is what a survey of so many samples finds.
func jumpsIn(n int, at func(int) float64) *jumps {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(at(i))
	}
	s := newSurvey(memory{48000, x})
	s.feed(x)
	return &s.jumps
}

// TestCrackle: a contact that makes and breaks is named with its time; a tone, a
// struck sound and a single break are no crackle.
func TestCrackle(t *testing.T) {
	const rate = 48000
	found := loose(rate, 1.0003, 9).crackles(rate)
	if len(found) != 1 || found[0].fromS < 0.999 || found[0].fromS > 1.006 || found[0].toS > 1.02 {
		t.Errorf("a contact loose from 1 s for 18 ms: found %+v", found)
	}
	for times, name := range map[int]string{0: "a tone", 1: "a single break"} {
		if found := loose(rate, 1, times).crackles(rate); len(found) > 0 {
			t.Errorf("%s: found %+v", name, found)
		}
	}
	j := jumpsIn(rate, func(i int) float64 {
		s := math.Mod(float64(i)/rate, 0.01) // strikes as close as hits of a crackle
		return math.Exp(-s/0.003) * (1 - math.Exp(-s/0.0003)) * math.Sin(2*math.Pi*700*s)
	})
	if found := j.crackles(rate); len(found) > 0 {
		t.Errorf("struck sounds: found %+v", found)
	}
	high := jumpsIn(rate, func(i int) float64 { return math.Sin(2 * math.Pi * 6100 * float64(i) / rate) })
	if found := high.crackles(rate); len(found) > 0 {
		t.Errorf("a tone that moves far from sample to sample: found %+v", found)
	}
}

// TestTone: the amplitude of a tone is what it was made with, between bins too,
// and of a far one next to nothing.
func TestTone(t *testing.T) {
	const rate = 4000.0
	for _, hz := range []float64{50, 60, 123.4} {
		x := make([]float32, 800)
		for i := range x {
			x[i] = float32(0.3 * math.Sin(2*math.Pi*hz*float64(i)/rate+1))
		}
		if got := cmplx.Abs(newTone(len(x), hz/rate).of(x)); math.Abs(got-0.3) > 0.002 {
			t.Errorf("%g Hz: amplitude %.4f, want 0.3", hz, got)
		}
		if got := cmplx.Abs(newTone(len(x), (hz+200)/rate).of(x)); got > 0.003 {
			t.Errorf("%g Hz: %.4f of it is seen 200 Hz away", hz, got)
		}
	}
}

// TestHumBurst: hum that comes and goes is named with its time; hum that stays
// or is over at once is none.
func TestHumBurst(t *testing.T) {
	const rate = 4000.0
	burst := func(hz, fromS, toS float64) []stretch {
		r, s := rand.New(rand.NewPCG(1, 2)), newSlow(rate, int64(6*rate))
		for i := range int(6 * rate) {
			x := 0.01 * r.NormFloat64()
			if at := float64(i) / rate; at >= fromS && at < toS {
				x += 0.4 * math.Sin(2*math.Pi*hz*at)
			}
			s.feed([]float32{float32(x)})
		}
		return s.humBursts(1)
	}
	for _, hz := range []float64{50, 60} {
		found := burst(hz, 2.5, 3.3)
		if len(found) != 1 || math.Abs(found[0].fromS-2.5) > 0.1 || math.Abs(found[0].toS-3.3) > 0.1 {
			t.Errorf("%g Hz from 2.5 to 3.3 s: found %+v", hz, found)
		}
	}
	for name, found := range map[string][]stretch{
		"a drum of 47 Hz": burst(47, 2.5, 3.3), "hum all through": burst(50, 0, 6), "hum for 50 ms": burst(50, 2.5, 2.55), "a tone of 130 Hz": burst(130, 2.5, 3.3),
	} {
		if len(found) > 0 {
			t.Errorf("%s: found %+v", name, found)
		}
	}
}

// TestLostBuffer: a train that jumps ahead is caught with its place and size,
// however the crank drifts and wows; without a jump, or where the gap is a missed
// hit, nothing is.
func TestLostBuffer(t *testing.T) {
	turn := func(lostS float64, missed int) (hitsS []float64) {
		r := rand.New(rand.NewPCG(8, 8))
		for n := range 30 {
			if n == missed {
				continue
			}
			x := float64(n)
			at := 1 + 0.6*(x-0.0008*x*x) + 0.002*math.Sin(math.Pi/2*x) + 0.0002*r.NormFloat64()
			if n >= 17 {
				at -= lostS
			}
			hitsS = append(hitsS, at)
		}
		return hitsS
	}
	for _, lostS := range []float64{0.0107, 0.0213, 0.0427} { // 512 to 2048 samples at 48 kHz
		if at, by := lostBuffer(turn(lostS, -1)); at != 17 || math.Abs(by-lostS) > 0.002 {
			t.Errorf("%.4f s lost before hit 17: found %.4f s before hit %d", lostS, by, at)
		}
	}
	for name, hits := range map[string][]float64{"none lost": turn(0, -1), "a missed hit": turn(0, 12), "few hits": turn(0.02, -1)[14:19], "no hits": nil} {
		if at, by := lostBuffer(hits); at != 0 || by != 0 {
			t.Errorf("%s: found %.4f s before hit %d", name, by, at)
		}
	}
}

// TestWhen names the first few stretches and counts the others.
func TestWhen(t *testing.T) {
	five := []stretch{{fromS: 1, toS: 1.5}, {fromS: 2, toS: 2.25}, {fromS: 3, toS: 4}, {fromS: 5, toS: 6}, {fromS: 7, toS: 8}}
	if got := when(five[:1]).English(); got != "at 1.00-1.50 s" {
		t.Errorf("one: %q", got)
	}
	if got := when(five).English(); strings.Count(got, "at ") != 3 || !strings.HasSuffix(got, "and 2 more times") {
		t.Errorf("five: %q", got)
	}
}
