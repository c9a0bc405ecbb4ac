package loop

import (
	"time"

	"lagwright/calib"
	"lagwright/calib/session"
)

// Day is what was known at the end of a day's takes.
type Day struct {
	At     time.Time      // of its last take
	Voices []Change       // by which each voice heard so far strikes later than on the first day that heard it
	Work   []session.Work // on the machine since the day before
	Air    *session.Air   // in its last take that has any; nil = not written down
}

// Days returns how the voices' lags have moved from day to day, at the target's tempo and
// where the plate stands now.
func (v *View) Days() (days []Day) {
	s := v.Session
	first := map[string]float64{}
	period := calib.PeriodMS(s.Target.TempoBPM)
	began := 0
	for i := range s.Takes {
		if i+1 < len(s.Takes) && s.DaysBefore(i+1) == 0 {
			continue
		}
		until := s
		until.Takes = s.Takes[:i+1]
		then := look(until, time.Time{})
		day := Day{At: s.Takes[i].At, Work: s.Between(began)}
		for j := began; j <= i; j++ {
			if s.Takes[j].Air != nil {
				day.Air = s.Takes[j].Air
			}
		}
		for _, voice := range s.Machine.Voices {
			lag, sd, heard := then.Lag(voice, v.Setting, period)
			if !heard {
				continue
			}
			if _, known := first[voice]; !known {
				first[voice] = lag
			}
			day.Voices = append(day.Voices, Change{voice, lag - first[voice], sureSDs * sd, s.Target.TempoBPM})
		}
		days, began = append(days, day), i+1
	}
	return days
}
