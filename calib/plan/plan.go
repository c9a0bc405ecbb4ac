package plan

import (
	"fmt"

	"lagwright/calib"
)

// Plan is what to do for a set list.
type Plan struct {
	Songs []Setting // in the order given
	Next  *Next     // the take to play next; nil when no more are needed
}

// Bench is what the builder has at hand.
type Bench struct {
	At  Place // where the plate stands
	All bool  // a take hears all voices at once, not one
}

// Make returns the plan for a set list. It panics where a song's tempo is not
// positive or it uses a voice that the machine has not got.
func (m Machine) Make(songs []Song, b Bench) Plan {
	var p Plan
	for _, s := range songs {
		out := m.settle(s, b.At)
		m.judge(&out)
		p.Songs = append(p.Songs, out)
	}
	p.Next = m.advise(p.Songs, b)
	return p
}

// sure is the chance from which on a song counts as verified.
const sure = 0.99

// judge says whether a song needs further takes, and why.
func (m *Machine) judge(s *Setting) {
	rest := s.worst()
	lag := fmt.Sprintf("expected %s (± %.1f)", calib.LateEarly(rest.LagMS), 1.96*rest.SDMS)
	switch {
	case s.Near >= sure && s.Chance >= sure:
		s.Verified = true
		s.Why = fmt.Sprintf("Verified: no more takes needed; %s, inside ±%.1f ms.", lag, s.LimitMS)
	case s.Near >= sure:
		s.Verified = true
		s.Why = fmt.Sprintf("Verified: no more takes needed; %s is as near as the plate goes, one step is %.1f ms.", lag, s.StepMS)
	case rest.LagMS > s.LimitMS || rest.LagMS < -s.LimitMS:
		s.Why = fmt.Sprintf("No setting brings its voices inside ±%.1f ms together: %s. A drop or pins have to move.", s.LimitMS, lag)
	default:
		s.Why = fmt.Sprintf("Not sure yet: %s, inside ±%.1f ms with a chance of %.0f %%.", lag, s.LimitMS, 100*s.Chance)
	}
}

// worst returns the part that lies furthest from zero.
func (s *Setting) worst() Rest {
	worst := s.Parts[0]
	for _, r := range s.Parts[1:] {
		if r.LagMS*r.LagMS > worst.LagMS*worst.LagMS {
			worst = r
		}
	}
	return worst
}
