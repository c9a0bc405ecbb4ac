package calib

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// ramp returns when a crank passes each of some beats while its tempo goes from one to
// another, in BPM, evenly in time; further beats come at the tempos of the ends.
func ramp(fromBPM, toBPM, seconds float64) func(beat float64) float64 {
	// beat = (from·t + (to−from)·t²/(2·seconds))/60, solved for t
	all := seconds * (fromBPM + toBPM) / 120
	return func(beat float64) float64 {
		switch {
		case beat < 0:
			return beat * 60 / fromBPM
		case beat > all:
			return seconds + (beat-all)*60/toBPM
		}
		if fromBPM == toBPM {
			return beat * 60 / fromBPM
		}
		a := (toBPM - fromBPM) / (2 * seconds)
		return (math.Sqrt(fromBPM*fromBPM+240*a*beat) - fromBPM) / (2 * a)
	}
}

// The number of each hit is that of its beat, through a tempo that changes threefold
// either way, by up to 6 % from beat to beat, a stop, missed hits and some too many.
func TestCrankCounts(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		from, to := rapid.Float64Range(50, 150).Draw(t, "from"), rapid.Float64Range(50, 150).Draw(t, "to")
		least := math.Abs(to-from) * 60 / (paceSD * math.Pow(math.Min(from, to), 2)) // faster, and a missed hit may be misread
		seconds := rapid.Float64Range(math.Max(25, least), math.Max(80, least)).Draw(t, "seconds")
		at := ramp(from, to, seconds)
		beats := int(seconds * (from + to) / 120)
		missing := rapid.IntRange(4, 9).Draw(t, "every so many is missing")
		extra := rapid.IntRange(5, 9).Draw(t, "every so many has another beside it")
		stop := rapid.SampledFrom([]float64{0, 0, 7.3}).Draw(t, "stop")
		var hits []float64
		want := map[float64]int{}
		more := map[float64]bool{}
		for beat := range beats {
			s := 1 + at(float64(beat))
			if beat > beats/2 {
				s += stop
			}
			// Which of two is the last tick before a stop or the first after it, and
			// whether a lone one there is any, nobody can tell.
			atStop := stop > 0 && beat >= beats/2-2 && beat <= beats/2+3
			if beat%missing == 3 && beat < beats-2 && !atStop {
				continue
			}
			hits, want[s] = append(hits, s), beat
			if beat%(2*extra) == 5 && !atStop {
				hits, more[s+0.07] = append(hits, s+0.07), true
			}
		}
		k := NewCrank(hits)
		first := hits[0]
		for _, s := range hits {
			n, ok := k.Number(s)
			if ok == more[s] {
				t.Fatalf("the hit at %.3f s counts: %v", s, ok)
			}
			if stop > 0 && want[s] > beats/2 { // across a stop nobody knows
				continue
			}
			if ok && n != want[s]-want[first] {
				t.Fatalf("the hit at %.3f s has number %d, want %d", s, n, want[s]-want[first])
			}
		}
	})
}

// A tempo that changes by half at once, and one hit, and none.
func TestCrankOddities(t *testing.T) {
	var hits []float64
	at := 1.0
	for n := range 24 {
		hits = append(hits, at)
		if at += 0.9; n >= 12 {
			at -= 0.3
		}
	}
	k := NewCrank(hits)
	for i, s := range hits {
		if n, ok := k.Number(s); n != i || !ok {
			t.Errorf("hit %d has number %d, %v", i, n, ok)
		}
	}
	near(t, "angle between hits", k.AngleAt(1+2.5*0.9), 2.5, 1e-3)
	near(t, "angle before the first", k.AngleAt(1-0.45), -0.5, 1e-9)
	if !NewCrank(nil).Empty() || NewCrank([]float64{3}).Empty() {
		t.Error("a crank is empty where there are no hits, and only there")
	}
	if r := NewCrank(nil).Find([]float64{1, 2}, []float64{1, 1}); r.DelayMS != usualDelay.Mean {
		t.Errorf("without a crank the release is %+v", r)
	}
	one := NewCrank([]float64{3})
	if n, off := one.Beat(Release{DelayMS: 200}, 3.25); n != 0 || math.Abs(off-50) > 1e-9 {
		t.Errorf("beside one hit: beat %d, %g ms late", n, off)
	}
}
