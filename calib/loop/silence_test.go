package loop

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
)

// mishap plays an evening on which the plate was turned by other numbers than told.
func mishap(rt *rapid.T, t *testing.T) *shop {
	s := open(t, rapid.Uint64().Draw(rt, "seed"), 84)
	voices := s.Build.Voices[:rapid.SampledFrom([]int{1, 3}).Draw(rt, "voices")]
	tempo, steps := rapid.SampledFrom([]float64{60, 84, 120}), rapid.IntRange(-60, 60)
	told := rapid.SampledFrom([]int{0, 0, 3, 10, 20, -4})
	for range rapid.IntRange(1, 4).Draw(rt, "takes") {
		s.aim(tempo.Draw(rt, "tempo"), voices[0])
		s.play(voices...)
		if n := told.Draw(rt, "told"); n != 0 {
			s.turn(n)
		}
		if rapid.Bool().Draw(rt, "mishap") {
			s.stands += steps.Draw(rt, "by")
		}
	}
	s.play(voices...)
	return s
}

// Wherever the plate is taken to stand elsewhere than told, the view says so, and the
// builder can agree to it; what was found is then as told.
func TestPlateIsNotMovedInSilence(t *testing.T) {
	deeptest.Check(t, func(rt *rapid.T) {
		s := mishap(rt, t)
		v := s.look()
		for i, results := range v.Results {
			if told := s.SettingAt(i); results[0].Setting == told {
				continue
			}
			found := slices.IndexFunc(v.Findings, func(f Finding) bool { return f.No != "" && f.Yes != "" })
			if found < 0 {
				rt.Fatalf("take %d stood at %+d, told as %+d: %s %s, found %+v", i+1, results[0].Setting, s.SettingAt(i), v.Do, v.Why, v.Findings)
			}
		}
	})
}

// Turned by more than half a beat, a plate says that it was turned. What was tight stays so.
// Where the turn was asked for, both ways to count the lag are said; where it was not, nothing
// tells it from the smaller turn to the same place of the beat, which is then what it was on
// every processor.
func TestTurnedMoreThanHalfABeatAway(t *testing.T) {
	for _, asked := range []int{-40, 0} {
		s := open(t, 3, 84)
		voices := s.Build.Voices
		s.aim(84, voices[0])
		s.play(voices...)
		for s.look().Stage != Tight {
			s.turn(s.look().Steps)
			s.play(voices...)
		}
		tight, beat := s.Setting(), int(math.Round(1/s.machine.Plate.StepBeats()))
		s.stands -= 40
		s.play(voices...)
		s.Takes[len(s.Takes)-1].Asked = asked
		v := s.look()
		r, _ := v.Result(v.Last.Take.ID, voices[0])
		stands, said := tight-40+beat, false
		if asked != 0 {
			stands, said = tight-40, true
		}
		if f := v.Findings; len(f) != 1 || v.Setting != stands || v.Setting+v.Steps != tight || len(v.Settings) != 1 || v.Settings[0].Setting != tight || (r.ShiftMS != 0) != said || strings.Contains(v.Why, calib.LateEarly(r.Reading.LagMS)+" from the nearest") != said {
			t.Errorf("asked for %d: tight at %+d, now at %+d: %s: %s; found %+v; settings %+v", asked, tight, v.Setting, v.Do, v.Why, f, v.Settings)
		}
	}
}

// Where the lag in large figures is counted from another reference hit than the reading's, the
// sentence says so, and says both; else the two are the same.
func TestWholeBeatsAreSaid(t *testing.T) {
	deeptest.Check(t, func(rt *rapid.T) {
		v := mishap(rt, t).look()
		if v.Number == nil || v.Last == nil {
			return
		}
		r, ok := v.Result(v.Last.Take.ID, v.Number.Voice)
		if apart := math.Abs(v.Number.LagMS-r.Reading.LagMS) > r.Reading.ReferencePeriodMS/2; ok && apart != strings.Contains(v.Why, calib.LateEarly(r.Reading.LagMS)+" from the nearest reference hit") {
			rt.Fatalf("%.1f ms in large figures, a reading of %.1f ms: %s", v.Number.LagMS, r.Reading.LagMS, v.Why)
		}
	})
}
