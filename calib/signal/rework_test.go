package signal

import (
	"context"
	"math"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/internal/must"
)

// all returns every hit of a reading.
func all(r calib.Reading) (reference, voice []float64) {
	for _, p := range r.Pairs {
		voice = append(voice, p.VoiceS)
	}
	return slices.Clone(r.ReferenceHitsS), voice
}

// usedVoice returns the voice hits that count.
func usedVoice(r calib.Reading) (s []float64) {
	for _, p := range r.Pairs {
		if p.Used {
			s = append(s, p.VoiceS)
		}
	}
	return s
}

// Hits nobody touched give what was found, though their loudness is forgotten:
// a change by hand then changes what it is about and nothing else.
func TestReworkOfUntouchedHits(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"everyday", "clunk", "doubles", "ticks", "drift", "lost-buffer", "drop-out"} {
		found, opt := trapReading(t, name, 1)
		reference, voice := all(found)
		got := Remeasure(found, reference, voice, opt)
		if !slices.Equal(usedVoice(got), usedVoice(found)) || math.Abs(got.LagMS-found.LagMS) > 1e-9 || math.Abs(got.HalfWidthMS()-found.HalfWidthMS()) > 1e-9 || math.Abs(got.TempoBPM-found.TempoBPM) > 1e-9 {
			t.Errorf("%s: lag %.3f ± %.3f ms of %d pairs at %.3f BPM, found %.3f ± %.3f of %d at %.3f", name,
				got.LagMS, got.HalfWidthMS(), got.Used(), got.TempoBPM, found.LagMS, found.HalfWidthMS(), found.Used(), found.TempoBPM)
		}
		if !sameCodes(got, found) {
			t.Errorf("%s: warnings %+v, found %+v", name, got.Warnings, found.Warnings)
		}
	}
}

func sameCodes(a, b calib.Reading) bool {
	codes := func(r calib.Reading) (s []string) {
		for _, w := range r.Warnings {
			s = append(s, w.Code)
		}
		slices.Sort(s)
		return s
	}
	return slices.Equal(codes(a), codes(b))
}

// trapTake plays a trap's take, at its own sample rate where rateHz is 0.
func trapTake(t *testing.T, name string, seed uint64, rateHz float64) (recording calib.Recording, truth practice.Truth, perBeat int) {
	t.Helper()
	for _, trap := range practice.Traps() {
		if trap.Name == name {
			simulated, play := trap.Make(seed)
			if rateHz > 0 {
				play.Rate = rateHz
			}
			recording, truth = simulated.Play(play)
			return recording, truth, play.PerBeat
		}
	}
	t.Fatalf("there is no trap %q", name)
	return calib.Recording{}, practice.Truth{}, 0
}

func trapReading(t *testing.T, name string, seed uint64) (calib.Reading, Options) {
	t.Helper()
	recording, _, perBeat := trapTake(t, name, seed, 16000)
	opt := Options{PerBeat: perBeat}
	r := must.Get(Measure(context.Background(), recording, opt))(t)
	return r, opt
}

// The builder says that the softer sound before each strike is the voice: with
// the strikes struck out, the reading follows the other cluster.
func TestReworkFollowsTheBuilder(t *testing.T) {
	var found calib.Reading
	for i := range 8 {
		beat := 0.7 * float64(i+1)
		jitter := 0.001 * math.Sin(float64(7*i))
		found.ReferenceHitsS = append(found.ReferenceHitsS, beat)
		found.Pairs = append(found.Pairs,
			calib.Pair{ReferenceS: beat, VoiceS: beat - 0.09 + jitter, Reason: calib.ReasonBounce},
			calib.Pair{ReferenceS: beat, VoiceS: beat + 0.02 + jitter, Used: true})
	}
	reference, voice := all(found)
	if got := Remeasure(found, reference, voice, Options{}); math.Abs(got.LagMS-20) > 1 || got.Used() != 8 {
		t.Fatalf("untouched: lag %.2f ms of %d pairs, want 20 of 8", got.LagMS, got.Used())
	}
	var left []float64
	for _, p := range found.Pairs {
		if !p.Used {
			left = append(left, p.VoiceS)
		}
	}
	if got := Remeasure(found, reference, left, Options{}); math.Abs(got.LagMS+90) > 1 || got.Used() != 8 {
		t.Errorf("strikes struck out: lag %.2f ms of %d pairs, want -90 of 8", got.LagMS, got.Used())
	}
	got := Remeasure(found, reference, left[:2], Options{})
	if !got.Has(WarnFewHits) || got.Used() != 2 {
		t.Errorf("two left: %d used, warnings %+v", got.Used(), got.Warnings)
	}
	if got := Remeasure(got, reference, nil, Options{}); got.Used() != 0 || len(got.Pairs) != 0 || !got.Has(WarnFewHits) || len(got.Warnings) != 1 {
		t.Errorf("none left: %+v", got)
	}
}
