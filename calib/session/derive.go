package session

import (
	"cmp"
	"slices"

	"lagwright/calib"
)

// Settled is a setting at which voice and reference were found to strike
// together.
type Settled struct {
	Target  Target
	Setting int        // steps, positive = ahead
	LagMS   float64    // what is left of the lag at the target tempo; positive = late
	CI      [2]float64 // 95 % interval of LagMS in ms, low then high
	TakeID  int        // the take that says so
}

// Settings returns the converged setting of every target that has one, from
// the latest take that converged on it, sorted by voice, then tempo, then song.
func (s Session) Settings() []Settled {
	latest := map[Target]Settled{}
	for _, t := range s.Takes {
		if t.Advice.Outcome == calib.Converged {
			latest[t.Target] = t.settled()
		}
	}
	settled := make([]Settled, 0, len(latest))
	for _, one := range latest {
		settled = append(settled, one)
	}
	slices.SortFunc(settled, func(a, b Settled) int { return compareTargets(a.Target, b.Target) })
	return settled
}

// settled moves the reading's interval to where the advice put the lag.
func (t Take) settled() Settled {
	shift := t.Advice.LagMS - t.Reading.LagMS
	ci := [2]float64{t.Reading.LagCI95MS[0] + shift, t.Reading.LagCI95MS[1] + shift}
	return Settled{t.Target, t.Advice.At, t.Advice.LagMS, ci, t.ID}
}

func compareTargets(a, b Target) int {
	return cmp.Or(
		cmp.Compare(a.Voice, b.Voice),
		cmp.Compare(a.TempoBPM, b.TempoBPM),
		cmp.Compare(a.Song, b.Song),
	)
}

// Setting returns where the plate stands now, in steps: where the last take
// found it plus what was moved since; 0 before the first take.
func (s Session) Setting() int {
	if len(s.Takes) == 0 {
		return 0
	}
	last := s.Takes[len(s.Takes)-1]
	if last.Moved == nil {
		return last.Advice.At
	}
	return last.Advice.At + last.Moved.Steps
}

// Points returns every usable reading of a voice as the law sees it, in the
// order of the takes: at the setting the take was found at, with the whole
// beats that its advice resolved.
func (s Session) Points(voice string) []calib.Point {
	var points []calib.Point
	for _, t := range s.Takes {
		if p, ok := t.point(); ok && t.Target.Voice == voice {
			points = append(points, p)
		}
	}
	return points
}

// point leaves out takes with a suspect cable even where pairs were found.
func (t Take) point() (calib.Point, bool) {
	p, ok := t.Reading.Point(t.Advice.At)
	p.LagMS += t.Advice.ShiftMS
	known := t.Advice.Outcome != "" && t.Advice.Outcome != calib.CableSuspect
	return p, ok && known
}
