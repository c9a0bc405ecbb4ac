package loop

import (
	"math"
	"testing"

	"lagwright/calib"
)

// The settings of the table hold on the simulated machine: by its own law the voices
// are within the limit wherever the table is sure, and every tempo has its setting.
func TestStaysHoldOnTheSimulatedMachine(t *testing.T) {
	s := mended{changed: "elm block", still: "tub drum"}.heard(t, 66, 84, 108, 150)
	v := s.look()
	for _, voices := range [][]string{{"tub drum"}, {"elm block"}, {"tub drum", "elm block"}, {"tub drum", "nobody"}} {
		stays := v.SettingRanges(voices, 60, 150)
		if len(stays) < 5 {
			t.Fatalf("%v: %d settings", voices, len(stays))
		}
		sure, covered := 0, 0.0
		for i, stay := range stays {
			if i > 0 && stay.Setting <= stays[i-1].Setting {
				t.Fatalf("setting %d after %d", stay.Setting, stays[i-1].Setting)
			}
			if !(stay.Likely.FromBPM <= stay.BestBPM && stay.BestBPM <= stay.Likely.ToBPM) {
				t.Errorf("setting %d is best at %g BPM, and likely from %g to %g", stay.Setting, stay.BestBPM, stay.Likely.FromBPM, stay.Likely.ToBPM)
			}
			covered += stay.Likely.ToBPM - stay.Likely.FromBPM
			if stay.Sure.None() {
				continue
			}
			sure++
			if stay.Sure.FromBPM < stay.Likely.FromBPM || stay.Sure.ToBPM > stay.Likely.ToBPM {
				t.Errorf("setting %d is sure beyond where it is likely: %+v", stay.Setting, stay)
			}
			for _, bpm := range []float64{stay.Sure.FromBPM, stay.Sure.ToBPM} {
				for _, voice := range voices {
					period := calib.PeriodMS(bpm)
					step := s.machine.Plate.StepBeats() * period
					lag := s.machine.LagMS(voice, period, stay.Setting)
					if math.Abs(lag) > max(calib.DefaultToleranceMS, step/2)+1.5 {
						t.Errorf("%v: setting %d is called sure at %g BPM, where the %s is %.1f ms off", voices, stay.Setting, bpm, voice, lag)
					}
				}
			}
		}
		if len(voices) == 1 && (sure < 5 || covered < 60) {
			t.Errorf("%v: %d of %d settings are sure somewhere, and they cover %.0f of 90 BPM", voices, sure, len(stays), covered)
		}
	}
	if got := v.SettingRanges([]string{"nobody"}, 60, 150); got != nil {
		t.Errorf("a voice that nobody heard has settings: %v", got)
	}
	if got := v.SettingRanges(nil, 60, 150); got != nil {
		t.Errorf("no voices have settings: %v", got)
	}
}

// A wide tolerance widens the tempos of every setting: at neither end of them do the
// voices stand nearer to their beat than the limit lets them.
func TestStaysReachTheLimit(t *testing.T) {
	s := mended{changed: "elm block", still: "tub drum"}.heard(t, 66, 84, 108, 150)
	s.ToleranceMS = 60
	v := s.look()
	const from, to, wide = 60, 150, 3 // BPM: a tempo further on is beyond the limit
	stays := v.SettingRanges([]string{"tub drum"}, from, to)
	if len(stays) < 5 {
		t.Fatalf("%d settings", len(stays))
	}
	for _, stay := range stays {
		for _, bpm := range []float64{stay.Likely.FromBPM - wide, stay.Likely.ToBPM + wide} {
			lag, _, _ := v.Lag("tub drum", stay.Setting, calib.PeriodMS(bpm))
			if bpm > from && bpm < to && math.Abs(lag) <= s.ToleranceMS {
				t.Errorf("setting %d ends before %g BPM, where the tub drum is only %.1f ms off", stay.Setting, bpm, lag)
			}
		}
	}
}
