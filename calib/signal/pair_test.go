package signal

import (
	"math"
	"testing"

	"lagwright/calib"
)

// train returns n hits a period apart.
func evenly(fromS, periodS float64, n int) []Hit {
	var hits []Hit
	for i := range n {
		hits = append(hits, Hit{TimeS: fromS + periodS*float64(i), mainS: math.Inf(-1)})
	}
	return hits
}

func checkPairs(t *testing.T, pairs []calib.Pair, lagMS float64, reasons ...string) {
	t.Helper()
	if len(pairs) != len(reasons) {
		t.Fatalf("%d pairs, want %d", len(pairs), len(reasons))
	}
	for i, p := range pairs {
		if p.Reason != reasons[i] || p.Used != (reasons[i] == "") {
			t.Errorf("pair %d at %.2f s: %q, want %q", i+1, p.VoiceS, p.Reason, reasons[i])
		}
		if p.Used && math.Abs(p.LagMS-lagMS) > 15 {
			t.Errorf("pair %d has a lag of %.1f ms, want about %g", i+1, p.LagMS, lagMS)
		}
	}
}

func TestPairsReasons(t *testing.T) {
	voice := evenly(1.04, 0.5, 6)
	voice = append(voice[:1:1], append([]Hit{{TimeS: 1.095}, {TimeS: 1.32}}, voice[1:]...)...)
	checkPairs(t, Pairs(evenly(1, 0.5, 6), voice, Options{}), 40, "", calib.ReasonBounce, calib.ReasonNoReference, "", "", "", "", "")
}

// TestHalfBeatDoesNotFlip has lags that scatter round half a beat: each is
// nearest to another reference hit, but they belong together.
func TestHalfBeatDoesNotFlip(t *testing.T) {
	voice := evenly(1.25, 0.5, 6)
	for i := range voice {
		voice[i].TimeS += 0.004 * float64(1-2*(i%2))
	}
	pairs := Pairs(evenly(1, 0.5, 7), voice, Options{})
	for _, p := range pairs {
		if !p.Used || math.Abs(p.LagMS-pairs[0].LagMS) > 9 {
			t.Errorf("lag of %.0f ms beside %.0f ms, used %v", p.LagMS, pairs[0].LagMS, p.Used)
		}
	}
}

func TestMissedReferenceHit(t *testing.T) {
	reference := evenly(1, 0.5, 6)
	reference = append(reference[:2:2], reference[3:]...)
	checkPairs(t, Pairs(reference, evenly(0.97, 0.5, 6), Options{}), -30, "", "", calib.ReasonNoReference, "", "", "")
}

func TestOffBeat(t *testing.T) {
	voice := append(evenly(1.02, 1, 4), Hit{TimeS: 4.52})
	checkPairs(t, Pairs(evenly(1, 0.5, 9), voice, Options{Every: 2}), 20, "", "", "", "", calib.ReasonOffBeat)
	checkPairs(t, Pairs(evenly(1, 0.5, 9), voice, Options{}), 20, "", "", "", "", "")
}

func TestPairsOfNothing(t *testing.T) {
	if p := Pairs(nil, evenly(1, 1, 3), Options{}); len(p) != 0 {
		t.Errorf("%d pairs without a reference", len(p))
	}
	checkPairs(t, Pairs(evenly(1, 1, 1), evenly(1.2, 1, 1), Options{Every: 4}), 200, "")
}

// TestLoudHitsDecideTheLag has a lesser sound before every hit, as regular as
// the hits.
func TestLoudHitsDecideTheLag(t *testing.T) {
	var voice []Hit
	for i := range 6 {
		at := 1.1 + 0.5*float64(i)
		voice = append(voice, Hit{TimeS: at - 0.2, Level: -25}, Hit{TimeS: at, Level: -10})
	}
	for i, p := range Pairs(evenly(1, 0.5, 6), voice, Options{}) {
		if p.Used != (i%2 == 1) {
			t.Errorf("pair %d with a lag of %.0f ms: used %v", i+1, p.LagMS, p.Used)
		}
	}
}

// TestOwn has every reference hit leak into the voice, 0.6 ms late and
// 14 dB down, while the voice sounds every fourth beat.
func TestOwn(t *testing.T) {
	reference, own := evenly(1, 0.5, 12), evenly(1.2, 2, 3)
	voice := append([]Hit{}, own...)
	for i := range reference {
		reference[i].Level = -12 + float64(i%4)
		voice = append(voice, Hit{TimeS: reference[i].TimeS + 0.0006, Level: reference[i].Level - 14})
	}
	for i := range own {
		voice[i].Level = -8
	}
	r, v := Own(reference, voice), Own(voice, reference)
	if len(r) != 12 || len(v) != 3 {
		t.Errorf("%d reference hits and %d voice hits, want 12 and 3", len(r), len(v))
	}
	for _, h := range v {
		if h.Level != -8 {
			t.Errorf("kept a leak at %.3f s", h.TimeS)
		}
	}
}

// A strike that happens to fall on a reference hit is no leak: leaks give themselves away
// together. Levels and times are those of a recording in which it was lost.
func TestOneStrikeOnTheReferenceCounts(t *testing.T) {
	var reference, voice []Hit
	for i, level := range []float64{-15.2, -13.8, -15.8, -14.1, -14.2, -14.7, -13.4, -13.5, -12.9, -15.5, -15.0, -13.1} {
		at, late := 0.9+0.834*float64(i), -0.0025-0.0005*float64(i%4)
		if i == 10 {
			late = 0.0004
		}
		reference = append(reference, Hit{TimeS: at, Level: -17.5})
		voice = append(voice, Hit{TimeS: at + late, Level: level})
	}
	if own := Own(voice, reference); len(own) != len(voice) {
		t.Errorf("%d of %d strikes are the voice's own", len(own), len(voice))
	}
}

// TestTightHitsAreNoLeaks has voice and reference strike together.
func TestTightHitsAreNoLeaks(t *testing.T) {
	reference, voice := evenly(1, 0.5, 8), evenly(1, 0.5, 8)
	for i := range voice {
		voice[i].TimeS += 0.001 + 0.0011*math.Sin(float64(3*i))
		voice[i].Level = -12 + 3*math.Cos(float64(5*i))
	}
	if r, v := Own(reference, voice), Own(voice, reference); len(r) != 8 || len(v) != 8 {
		t.Errorf("%d reference hits and %d voice hits are left of 8 each", len(r), len(v))
	}
}

// TestRegular leaves out quieter sounds that do not fit the train.
func TestRegular(t *testing.T) {
	hits := evenly(1, 0.5, 8)
	for i := range hits {
		hits[i].Level = -10 - float64(i%3)
	}
	mixed := append(hits[:3:3], append([]Hit{{TimeS: 2.13, Level: -20}, {TimeS: 2.31, Level: -22}}, hits[3:]...)...)
	if got := regular(mixed).hits; len(got) != 8 {
		t.Errorf("%d hits of 8", len(got))
	}
}

// Of clunk and strike, which come together, the louder is the strike, even where a
// drop that missed leaves one clunk more.
func TestStrikeIsLouderThanItsClunk(t *testing.T) {
	strikes := evenly(1.1, 2, 6)
	var voice []Hit
	for _, h := range strikes {
		voice = append(voice, Hit{TimeS: h.TimeS - 0.19, Level: -7}, h)
	}
	voice = append(voice, Hit{TimeS: 12.91, Level: -7})
	used := 0
	for _, p := range Pairs(evenly(1, 0.5, 30), voice, Options{}) {
		if p.Used && (p.LagMS < 99 || p.LagMS > 101) {
			t.Errorf("used a lag of %.0f ms, want 100", p.LagMS)
		}
		if p.Used {
			used++
		}
	}
	if used != 6 {
		t.Errorf("%d pairs used, want 6", used)
	}
}

func TestSoundBeforeTheStrikeIsNoBounce(t *testing.T) {
	voice := evenly(1.04, 0.5, 6)
	voice = append([]Hit{{TimeS: 0.97, Level: -3}}, voice...)
	checkPairs(t, Pairs(evenly(1, 0.5, 6), voice, Options{}), 40, calib.ReasonBefore, "", "", "", "", "", "")
}

// A clunk between strikes makes a train that is twice as dense, but limps.
func TestClunksMakeNoReference(t *testing.T) {
	var limping []Hit
	for i, h := range evenly(1.1, 0.4, 20) {
		limping = append(limping, Hit{TimeS: h.TimeS, Level: -15}, Hit{TimeS: h.TimeS + 0.21, Level: -26 - float64(i%2)})
	}
	if swapped(regular(evenly(1, 0.4, 20)), limping) {
		t.Error("a voice with clunks between its strikes was taken for the reference")
	}
	if three := evenly(1, 0.4, 3); swapped(regular(nil), three) {
		t.Error("three hits and nothing beside them are a reference")
	}
	if !swapped(regular(evenly(1, 0.4, 20)), evenly(1.1, 0.2, 40)) {
		t.Error("a train twice as dense was not taken for the reference")
	}
}

// The reference ticks three times a beat, and each rebound falls near the next tick.
func TestReboundsNearATickAreRejected(t *testing.T) {
	strikes := evenly(1.04, 0.45, 6)
	var voice []Hit
	var reasons []string
	for _, h := range strikes {
		voice = append(voice, h, Hit{TimeS: h.TimeS + 0.145, Level: -12})
		reasons = append(reasons, "", calib.ReasonBounce)
	}
	checkPairs(t, Pairs(evenly(1, 0.15, 19), voice, Options{PerBeat: 3}), 40, reasons...)
}
