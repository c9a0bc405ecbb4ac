package plotting

import (
	"fmt"
	"time"

	"lagwright/calib"
	"lagwright/calib/session"
)

// CurveOf returns the curve of one voice of a session: its usable takes, the
// law at the setting where the plate stands, and at every settled one.
func CurveOf(s session.Session, voice string) Curve {
	c := Curve{Title: s.Machine.Name, Voice: voice, ToleranceMS: s.ToleranceMS}
	if s.Target.Voice == voice {
		c.TargetBPM = s.Target.TempoBPM
	}
	ways, err := s.Explain(voice)
	if err != nil {
		return c
	}
	law, resolved := ways[0].Law, ways[0].Points
	for _, t := range s.Takes {
		p, ok := t.Point()
		if !ok || t.Target.Voice != voice {
			continue
		}
		p, resolved = resolved[0], resolved[1:] // the same takes in the same order
		half := t.Reading.HalfWidthMS()
		c.Takes = append(c.Takes, CurveTake{
			TempoBPM:  t.Reading.TempoBPM,
			LagMS:     p.LagMS,
			CI95MS:    [2]float64{p.LagMS - half, p.LagMS + half},
			Setting:   p.Setting,
			Converged: t.Advice.Outcome == calib.Converged,
		})
	}
	c.Takes[len(c.Takes)-1].Current = true
	now := s.Setting()
	settings := []int{now}
	for _, one := range s.Settings() {
		if one.Target.Voice == voice {
			settings = append(settings, one.Setting)
		}
	}
	drawn := map[int]bool{}
	for _, setting := range settings {
		if !drawn[setting] {
			drawn[setting] = true
			c.Laws = append(c.Laws, CurveLaw{
				Setting: setting,
				LagMS:   func(periodMS float64) (lag, sd float64) { return law.Lag(periodMS, float64(setting)) },
				Current: setting == now,
			})
		}
	}
	return c
}

// FanOf returns the hit fan of a take.
func FanOf(t session.Take, toleranceMS float64) Fan {
	f := Fan{CentreMS: t.Reading.LagMS, CI95MS: t.Reading.LagCI95MS, ToleranceMS: max(toleranceMS, t.Advice.LimitMS)}
	for _, p := range t.Reading.Pairs {
		f.LagsMS = append(f.LagsMS, p.LagMS)
		f.Used = append(f.Used, p.Used)
	}
	return f
}

// PictureOf returns the picture of a take, to which the sound must be added.
func PictureOf(t session.Take) Picture {
	return Picture{
		Title:          fmt.Sprintf("Take %d · %s at %.1f BPM · plate at %s", t.ID, t.Target.Voice, t.Reading.TempoBPM, signed(t.Setting)),
		ReferenceHitsS: t.Reading.ReferenceHitsS,
		Pairs:          t.Reading.Pairs,
	}
}

// CardOf returns the setting card of a session: every settled setting, with the
// move from the line before it.
func CardOf(s session.Session, date time.Time) Card {
	c := Card{Machine: s.Machine.Name, Session: s.Name, Date: date, NotchesPerTurn: s.Machine.Plate.NotchesPerTurn, ToleranceMS: s.ToleranceMS}
	previous := 0 // the card's first move starts from setting 0
	for _, one := range s.Settings() {
		line := Settled{
			Song: one.Target.Song, TempoBPM: one.Target.TempoBPM, Voice: one.Target.Voice,
			SettingSteps: one.Setting, MoveSteps: one.Setting - previous, LagMS: one.LagMS,
			RestMS: (one.CI[1] - one.CI[0]) / 2, Verified: true,
		}
		for _, t := range s.Takes {
			if t.ID == one.TakeID {
				line.Date = t.At
			}
		}
		c.Lines = append(c.Lines, line)
		previous = one.Setting
	}
	return c
}
