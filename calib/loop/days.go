package loop

import (
	"math"
	"time"

	"lagwright/calib"
	"lagwright/calib/machine"
)

// Day is what was known at the end of a day's takes.
type Day struct {
	At     time.Time           // of its last take
	Voices []Change            // by which each voice heard so far strikes later than on the first day that heard it
	Work   []machine.LogEntry  // on the machine since the day before
	Air    *machine.Conditions // in its last take that has any; nil = not written down
}

// Days returns how the voices' lags have moved from day to day, at the target's tempo and
// where the plate stands now.
func (v *View) Days() (days []Day) {
	m := v.Machine
	first := map[string][2]float64{} // lag and its standard uncertainty
	period := calib.PeriodMS(m.Target.TempoBPM)
	began := 0
	for i := range m.Takes {
		if i+1 < len(m.Takes) && m.DaysBefore(i+1) == 0 {
			continue
		}
		then := look(m.After(i), time.Time{})
		day := Day{At: m.Takes[i].At}
		for j := began; j <= i; j++ {
			day.Work = append(day.Work, m.Between(j)...)
			if m.Takes[j].Conditions != nil {
				day.Air = m.Takes[j].Conditions
			}
		}
		for _, voice := range m.Build.Voices {
			lag, sd, heard := then.Lag(voice, v.Setting, period)
			if !heard {
				continue
			}
			was, known := first[voice]
			if !known {
				was = [2]float64{lag, 0} // the first day is what the others are held against
				first[voice] = [2]float64{lag, sd}
			}
			day.Voices = append(day.Voices, Change{Voice: voice, ByMS: lag - was[0], HalfMS: calib.Half95 * math.Hypot(sd, was[1]), TempoBPM: m.Target.TempoBPM})
		}
		days, began = append(days, day), i+1
	}
	return days
}
