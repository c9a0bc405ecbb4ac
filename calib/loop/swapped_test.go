package loop

import (
	"cmp"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/plan"
	"lagwright/internal/must"
)

// A take whose microphones seem to be swapped is not counted until the builder says that
// they are right; then it counts as any other.
func TestMicrophonesThatAreRight(t *testing.T) {
	s := open(t, 3, 84)
	s.play(s.Build.Voices...)
	want := s.look()
	for i := range s.Takes[0].Heard {
		r := &s.Takes[0].Heard[i].Reading
		r.Warnings = append(r.Warnings, calib.Warning{Code: calib.WarnSwapped, Text: "channel 2 strikes more often than channel 1"})
	}
	v := s.look()
	if len(v.Findings) != 1 || v.Findings[0].Kind != plan.Crossed || v.Findings[0].Yes != "The microphones were swapped" || v.Stage != AwaitTake || v.heard(s.Build.Voices[0]) {
		t.Fatalf("swapped: %s, %+v", v.Do, v.Findings)
	}
	must.Do(t, v.Findings[0].Deny(&s.Machine))
	if got := s.look(); len(got.Findings) != 0 || got.Do != want.Do || got.Why != want.Why {
		t.Errorf("once they are right: %s: %s; want %s: %s", got.Do, got.Why, want.Do, want.Why)
	}
	s.Takes[0].Heard[0].Reading.Warnings = []calib.Warning{{Code: calib.WarnSwapped}}
	if s.Takes[0].LeftOut = true; len(s.look().Findings) != 0 {
		t.Error("a take that is left out is asked about")
	}
}

// A sweep that tells of a strike before its release was recorded with the microphones swapped; one
// that tells of a longer fall than any was not.
func TestSweepWithMicrophonesSwapped(t *testing.T) {
	for _, by := range []float64{-1, 4} {
		s := open(t, 3, 72)
		s.play()
		h := &s.Takes[0].Heard[0]
		h.Reading = s.sweep(s.Build.Voices[:1], 72, 126)[0]
		h.Reading.Law.DelayMS *= by
		h.Reading.Warnings = []calib.Warning{{Code: calib.WarnRival, Text: "which no fall takes"}}
		found := s.look().Findings
		if swapped := len(found) == 1 && found[0].Kind == plan.Crossed && found[0].Swap && found[0].Yes == "The microphones were swapped" && found[0].Odds == "by its delay"; swapped != (by < 0) || !h.Reading.Law.Impossible() {
			t.Errorf("a delay of %.0f ms: found %+v", h.Reading.Law.DelayMS, found)
		}
	}
}

// Two microphones that were on each other's channel are one mistake; once it is agreed to, the
// take counts as if they had been right.
func TestVoicesOnEachOthersChannel(t *testing.T) {
	s := open(t, 3, 84)
	for _, bpm := range []float64{72, 96, 120, 84} {
		s.aim(bpm, s.Build.Voices[0])
		s.play(s.Build.Voices...)
	}
	if v := s.look(); len(v.Findings) > 0 {
		t.Fatalf("found %+v where all was right", v.Findings)
	}
	want, voices := s.look(), s.Takes[3].Voices()
	s.Takes[3].Assign([]string{voices[1], voices[0], voices[2]})
	f := s.onlyFinding(plan.WrongVoice)
	if !f.Swap || f.Take != 4 || f.Voice != voices[0] || f.As != voices[1] || f.Words != "In take 4 the tub drum and the elm block have each other's lag." || strings.Contains(f.Do, "play it again") {
		t.Errorf("found %+v", f)
	}
	must.Do(t, f.Agree(&s.Machine))
	if got := s.look(); len(got.Findings) > 0 || got.Why != want.Why || s.Takes[3].LeftOut {
		t.Errorf("agreed with: %s, found %+v; want %s", got.Why, got.Findings, want.Why)
	}
	s.Takes[3].Heard[1].Reading = s.strikes(voices[2:])[0] // the one heard the other, and the other a third
	s.Takes[3].Assign([]string{voices[1], voices[0], voices[2]})
	if v := s.look(); slices.ContainsFunc(v.Findings, func(f Finding) bool { return f.Swap }) {
		t.Errorf("found %+v", v.Findings)
	}
}

// Of three wrong readings in a take, where two voices fall alike, each is found: two as swapped,
// and the third by itself.
func TestThirdWrongReadingIsFound(t *testing.T) {
	s := open(t, 3, 84)
	s.machine.Voices[2] = s.machine.Voices[1]
	s.machine.Voices[2].Name = s.Build.Voices[2]
	for _, bpm := range []float64{72, 96, 120, 84} {
		s.aim(bpm, s.Build.Voices[0])
		s.play(s.Build.Voices...)
	}
	h := s.Takes[3].Heard
	h[0].Reading, h[1].Reading, h[2].Reading = h[1].Reading, h[0].Reading, h[0].Reading
	found := s.look().Findings
	slices.SortFunc(found, func(a, b Finding) int {
		return cmp.Compare(slices.Index(s.Build.Voices, a.Voice), slices.Index(s.Build.Voices, b.Voice))
	})
	if len(found) != 2 || !found[0].Swap || found[0].Voice != s.Build.Voices[0] || found[1].Swap || found[1].Voice == found[0].As {
		t.Errorf("found %+v", found)
	}
}
