package plan

import (
	"cmp"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Plan is what to do for a set list.
type Plan struct {
	Songs []Setting // in the order given
	Next  *Next     // the take to play next; nil when no more are needed
}

// Situation is what the builder has at hand.
type Situation struct {
	At     Place // where the plate stands
	All    bool  // a take hears all voices at once, not one
	Steady bool  // takes keep to one tempo, as those of a motor with one speed do
	Put    bool  // the plate was just turned for the song that is played: a sweep comes before it is turned again
}

// Plan returns the plan for a set list, its songs in playing order: each setting is
// reached from that of the song before; the first, and one played now, from where the
// plate stands. Songs need a positive tempo, and voices that the machine has.
func (m Posterior) Plan(songs []Song, b Situation) Plan {
	if len(songs) == 0 {
		return Plan{}
	}
	var p Plan
	place := b.At
	for _, s := range songs {
		if s.Here {
			place = b.At
		}
		one := m.Best(s, place)
		place = one.place
		p.Songs = append(p.Songs, one)
	}
	otherBeats(p.Songs)
	p.Next = m.advise(p.Songs, b)
	return p
}

// Takes tell enough of a song when it passes with a chance of Sure. On the edge between two
// settings, where it passes with less than insideShare but for coming as near as the plate goes,
// its lags have to be known to sharpShare of what a usual take is uncertain by: then neither is
// better, and on the edge of passing no take would change the answer. No setting helps a song of
// which a voice stays outside: so surely that takes would not change it, or known so well that
// they would gain next to nothing.
const (
	Sure        = 0.99
	insideShare = 0.8
	sharpShare  = 0.53
)

// OnEdge reports whether takes tell enough of a song though it may well not pass: it comes as
// near as the plate goes.
func (s *Setting) OnEdge() bool { return s.Enough && s.Chance < Sure }

// judge says whether takes can still help a song at its setting.
func (m *Posterior) judge(s *Setting) {
	if s.unheard() {
		return
	}
	worst, near := s.worst(), NearSteps*math.Abs(s.StepMS)
	off := math.Abs(worst.LagMS)
	sharp := !slices.ContainsFunc(s.Parts, m.vague)
	if s.Hopeless = off > s.LimitMS+near && s.Near < 0.5; !sharp {
		s.Hopeless = m.apart(s) > 2*(s.LimitMS+near) || off > s.LimitMS+near+calib.Half95*s.vaguest().SDMS && s.Near < 1-Sure
	}
	edge := len(s.Parts) > 1 && off > s.LimitMS-near && !s.Doubt() && !s.Hopeless // one voice alone soon leaves it
	s.Enough = s.Near >= Sure && (s.Chance >= insideShare || sharp) || edge && sharp
}

// apart returns how far the lags that are not vague lie from each other, in ms: at every setting.
func (m *Posterior) apart(s *Setting) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range s.Parts {
		if !m.vague(r) {
			low, high = math.Min(low, r.LagMS), math.Max(high, r.LagMS)
		}
	}
	return high - low
}

// vague reports whether a lag is known so little that another take would narrow it by more
// than an eighth.
func (m *Posterior) vague(r Residual) bool {
	return square(r.SDMS) > m.pools[r.Voice].shared+square(sharpShare)*m.noise(r.Voice, usualTakeHits)
}

// Why says why takes of a song are enough or not. Of several voices it names the one that
// is furthest off, by the names of all the machine's.
func (s *Setting) Why(name string, voices []string) string {
	why := s.why(name, voices)
	if s.Other {
		why += " " + i18n.L("It may strike a whole beat away, which takes cannot tell: watch the machine.")
	}
	return why
}

func (s *Setting) why(name string, voices []string) string {
	rest, vaguest := s.worst(), s.vaguest()
	lag := i18n.F("the %s stays %s (± %.1f)", voices[rest.Voice], calib.LateEarly(rest.LagMS), calib.Half95*rest.SDMS)
	if len(s.Parts) == 1 {
		lag = i18n.F("expected %s (± %.1f)", calib.LateEarly(rest.LagMS), calib.Half95*rest.SDMS)
	}
	switch {
	case s.Enough && !s.OnEdge():
		return i18n.F("No more takes needed: %s, inside ±%.1f ms.", lag, s.LimitMS)
	case s.Enough:
		return i18n.F("No more takes needed: %s, on the edge and as near as the plate goes; one step is %.1f ms.", lag, math.Abs(s.StepMS))
	case s.Hopeless:
		return i18n.F("No setting brings the voices of %s together within ±%.1f ms: %s. Stop the crank, wait for rest, then change a drop height or move pins.", name, s.LimitMS, lag)
	case calib.Half95*vaguest.SDMS > s.LimitMS, s.unheard():
		return i18n.F("Not sure yet: the %s is known only to ± %.0f ms, so it needs a take first.", voices[vaguest.Voice], calib.Half95*vaguest.SDMS)
	case s.Chance < 1-Sure:
		return i18n.F("Not tight: %s, outside ±%.1f ms.", lag, s.LimitMS)
	}
	return i18n.F("Not sure yet: %s, inside ±%.1f ms with a chance of %.0f %%.", lag, s.LimitMS, 100*s.Chance)
}

// vaguest returns the part whose lag is known least.
func (s *Setting) vaguest() Residual {
	return slices.MaxFunc(s.Parts, func(a, b Residual) int { return cmp.Compare(a.SDMS, b.SDMS) })
}

// worst returns the part that lies furthest from zero, of those heard if any was.
func (s *Setting) worst() (worst Residual) {
	for _, r := range s.Parts {
		if !r.Unheard && math.Abs(r.LagMS) >= math.Abs(worst.LagMS) {
			worst = r
		}
	}
	return worst
}
