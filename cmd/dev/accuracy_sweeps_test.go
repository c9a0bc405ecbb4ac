package main

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/deeptest"
)

// TestSweepsByHits: what the equation of a sweep can tell at all, of 200 random machines
// when deep.
func TestSweepsByHits(t *testing.T) {
	all := make([]played, deeptest.Of(24, 200))
	for i := range all {
		all[i] = sweepByHits(uint64(i))
	}
	over := func(of string, how func([]float64) float64) float64 { return sum{of: of, sum: how}.over(all) }
	told, delayMS, offset, covered := over("told", percent), over("delay", rootMeanSquare), over("offset", rootMeanSquare), over("covered", percent)
	t.Logf("told %.1f %%, delay ± %.2f ms, offset ± %.4f beats, covered %.1f %%", told, delayMS, offset, covered)
	if told < 95 || delayMS > 1.4 || offset > 0.0024 {
		t.Error("the law misses its targets")
	}
	low, high := 80.0, 100.0 // of 24 laws, each at five tempos that go together
	if deeptest.On() {
		low, high = coverageLow, coverageHigh
	}
	if covered < low || covered > high {
		t.Errorf("the intervals cover %.1f %%, %g to %g are due", covered, low, high)
	}
}

// sweepByHits plays a sweep of a random machine that scatters, wobbles, misses and strikes
// wild, as hits alone.
func sweepByHits(seed uint64) played {
	r := rand.New(rand.NewPCG(seed, 77))
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	m := practice.Default()
	m.JitterMS, m.CrankTurnsPerBeat = between(0.5, 3), between(0.2, 0.9)
	m.Habit.WowPct, m.Habit.MissedShare, m.Habit.DoubleShare = between(0.1, 1.5), 0.05, practice.None
	m.Voices[0].HeightMM, m.Voices[0].OffsetBeats = between(50, 800), between(-0.5, 0.3)
	from := between(56, 72)
	p := practice.Play{Voice: m.Voices[0].Name, TempoBPM: from, Seed: seed, Sweep: practice.Sweep{ToBPM: between(120, 150), Seconds: 60, Uneven: between(0, 0.8)}}
	truth := m.Hits(p)
	const pickedS, wildS = 0.00005, 0.25 // by which a hit is picked wrongly; by which a wild one is off, either way
	var reference, voice []signal.Hit
	var referenceS []float64
	for _, s := range truth.ReferenceHitsS {
		referenceS = append(referenceS, s+pickedS*r.NormFloat64())
		reference = append(reference, signal.Hit{TimeS: referenceS[len(referenceS)-1]})
	}
	for _, s := range truth.VoiceHitsS {
		s += pickedS * r.NormFloat64()
		if r.Float64() < 0.05 {
			s += wildS * between(-1, 1)
		}
		voice = append(voice, signal.Hit{TimeS: s})
	}
	slices.SortFunc(voice, func(a, b signal.Hit) int { return int(math.Copysign(1, a.TimeS-b.TimeS)) })
	return judgeSweep(calib.Read(signal.Pairs(reference, voice, signal.Options{}), referenceS, nil, 1), playedLaw(m, p))
}

// TestJudgeSweep: a law that was told is judged at five tempos, and whole beats are
// forgiven only where they are open.
func TestJudgeSweep(t *testing.T) {
	law := calib.TakeLaw{DelayMS: 200, OffsetBeats: -0.3, FromBPM: 60, ToBPM: 120}
	for _, row := range []struct {
		name          string
		change        func(*calib.Reading)
		worst, silent float64
		covered       float64
	}{
		{"off by 1 ms", func(*calib.Reading) {}, 1, 1, 1},
		{"a beat off and open", func(r *calib.Reading) { r.Law.OffsetBeats, r.Law.WholeBeatsOpen = 0.7, true }, 1, 1, 1},
		{"a beat off and silent", func(r *calib.Reading) { r.Law.OffsetBeats = 0.7 }, 1001, 1001, 0},
		{"doubted", func(r *calib.Reading) {
			r.Law.DelayMS, r.Warnings = 210, []calib.Warning{{Code: calib.WarnDoubtful}}
		}, 10, math.NaN(), 0},
		{"not told", func(r *calib.Reading) { r.Law.DOF = 0 }, math.Inf(1), math.NaN(), math.NaN()},
	} {
		r := calib.Reading{Law: calib.TakeLaw{DelayMS: 201, OffsetBeats: -0.3, Cov: [2][2]float64{{1, 0}, {0, 1e-9}}, DOF: 50}}
		row.change(&r)
		p := []played{judgeSweep(r, law)}
		got := []float64{sum{of: "lag", sum: share(1)}.over(p), sum{of: "undoubted", sum: share(1)}.over(p), sum{of: "covered", sum: mean}.over(p)}
		if want := []float64{row.worst, row.silent, row.covered}; !slices.EqualFunc(got, want, alike) {
			t.Errorf("%s: worst, undoubted and covered are %v, want %v", row.name, got, want)
		}
	}
}

// alike reports whether two numbers are the same but for rounding, or both none.
func alike(a, b float64) bool {
	return a == b || math.Abs(a-b) < 1e-9 || math.IsNaN(a) && math.IsNaN(b)
}
