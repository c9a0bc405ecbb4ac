package session

import (
	"cmp"
	"math"
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

// Settings returns the converged setting of every target that has one, sorted by
// voice, then tempo, then song. The latest take at a target that could be read
// decides: one that asks for a move takes the setting off the list.
func (s Session) Settings() []Settled {
	latest := map[Target]Settled{}
	for _, take := range s.Takes {
		for _, voice := range take.Voices() {
			t, _ := take.As(voice)
			switch o := t.Advice.Outcome; {
			case t.LeftOut:
			case o == calib.Converged:
				latest[t.Target] = t.settled()
			case o.Moves():
				delete(latest, t.Target)
			}
		}
	}
	settled := make([]Settled, 0, len(latest))
	for _, one := range latest {
		settled = append(settled, one)
	}
	slices.SortFunc(settled, func(a, b Settled) int { return compareTargets(a.Target, b.Target) })
	return settled
}

func (t Take) settled() Settled {
	a := t.Advice
	return Settled{t.Target, a.At, a.LagMS, [2]float64{a.LagMS - a.Half, a.LagMS + a.Half}, t.ID}
}

func compareTargets(a, b Target) int {
	return cmp.Or(
		cmp.Compare(a.Voice, b.Voice),
		cmp.Compare(a.TempoBPM, b.TempoBPM),
		cmp.Compare(a.Song, b.Song),
	)
}

// Setting returns where the plate stands now, in steps: where the last take
// found it, or was said to find it if it is left out, plus what was moved since;
// 0 before the first take.
func (s Session) Setting() int {
	if len(s.Takes) == 0 {
		return 0
	}
	last := s.Takes[len(s.Takes)-1]
	at := last.Advice.At
	if last.LeftOut {
		at = last.Setting // then only what the builder said counts
	}
	if last.Moved == nil {
		return at
	}
	return at + last.Moved.Steps
}

// Points returns every usable reading of a voice as the law sees it, in the order
// of the takes, at the setting the take was found at. Whole beats are open.
func (s Session) Points(voice string) []calib.Point {
	var points []calib.Point
	for i := range s.Takes { // Take.As would copy each take
		t := &s.Takes[i]
		if t.LeftOut {
			continue
		}
		advice, reading, ok := t.heard(voice)
		if !ok {
			continue
		}
		if p, ok := advice.Point(*reading); ok {
			points = append(points, p)
		}
	}
	return points
}

// heard returns advice and reading of one of the take's voices.
func (t *Take) heard(voice string) (advice *calib.Advice, reading *calib.Reading, ok bool) {
	if voice == t.Target.Voice {
		return &t.Advice, &t.Reading, true
	}
	for i := range t.OtherVoices {
		if o := &t.OtherVoices[i]; o.Voice == voice {
			return &o.Advice, &o.Reading, true
		}
	}
	return nil, nil, false
}

// Point returns the reading of a take's own voice as the law sees it; it is not ok where the
// reading cannot be used or the take is left out.
func (t Take) Point() (p calib.Point, ok bool) {
	if t.LeftOut {
		return calib.Point{}, false
	}
	return t.Advice.Point(t.Reading)
}

// Prior returns what is known of a voice's law before its own takes: the plate,
// and where that is not known, the step that the other voices have taught, for
// all voices share one plate.
func (s Session) Prior(voice string) calib.Prior { return s.Priors()(voice) }

// Priors returns Prior for the session as it is now; what each voice has taught is
// worked out once for all that ask. It is for one goroutine.
func (s Session) Priors() func(voice string) calib.Prior {
	plate := calib.PlatePrior(s.Machine.Plate)
	if plate.Step.SD == 0 {
		return func(string) calib.Prior { return plate }
	}
	known := map[string]calib.Belief{}
	return func(voice string) calib.Prior {
		prior := plate
		var sum, weight float64
		for _, other := range s.Machine.Voices {
			if other == voice {
				continue
			}
			b, ok := known[other]
			if !ok {
				b = s.taught(other)
				known[other] = b
			}
			if b.SD > 0 {
				w := 1 / (b.SD * b.SD)
				sum, weight = sum+w*b.Mean, weight+w
			}
		}
		if weight > 0 {
			prior.Step = calib.Belief{Mean: sum / weight, SD: math.Sqrt(1 / weight)}
		}
		return prior
	}
}

// taught returns the step that a voice's own takes tell; without an SD where they
// tell none.
func (s Session) taught(voice string) calib.Belief {
	ways, err := calib.Explain(s.Points(voice), calib.PlatePrior(s.Machine.Plate))
	if err != nil {
		return calib.Belief{}
	}
	return calib.Belief{Mean: ways[0].Law.StepBeats, SD: math.Sqrt(ways[0].Law.Cov[2][2])}
}

// Explain returns the explanations of a voice's readings, the best first, with
// the step set free where they contradict the plate's numbers; see calib.Explain
// for its errors.
func (s Session) Explain(voice string) ([]calib.Explanation, error) {
	ways, _, err := calib.Understand(s.Points(voice), s.Prior(voice))
	return ways, err
}
