package plan

import (
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
		one := m.setting(s, place)
		place = one.place
		p.Songs = append(p.Songs, one)
	}
	otherBeats(p.Songs)
	m.judge(p.Songs)
	p.Next = m.advise(p.Songs, b)
	return p
}

// A song is verified when it passes with a chance of Sure. On the edge between two settings,
// where it passes with less than insideShare but for coming as near as the plate goes, its lags have to
// be known to sharpShare of what a usual take is uncertain by: then neither is better. No
// setting helps one that is outside where they are.
const (
	Sure        = 0.99
	insideShare = 0.8
	sharpShare  = 0.53
)

// judge says of each song whether it needs further takes, and why.
func (m *Posterior) judge(songs []Setting) {
	for i := range songs {
		s := &songs[i]
		s.Hopeless = !s.unheard() && m.hopeless(s)
		s.Verified = s.Near >= Sure && !s.unheard() && (s.Chance >= insideShare || !slices.ContainsFunc(s.Parts, m.vague))
		if off := math.Abs(s.worst().LagMS); s.Verified && off > s.LimitMS { // it passes on the edge, and so does its own tempo
			s.Window = m.hypotheses[0].window(m.counted(m.known.voices(s.Song)), s.place, off*(1+1e-9))
		}
	}
}

// hopeless reports whether some voice stays outside though the setting is the best
// of all: so surely that further takes would not change it, or known so well that
// they would gain next to nothing.
func (m *Posterior) hopeless(s *Setting) bool {
	worst := s.worst()
	beyond := math.Abs(worst.LagMS) - s.LimitMS - NearSteps*math.Abs(s.StepMS)
	if !m.vague(worst) {
		return beyond > 0 && s.Near < 0.5
	}
	return beyond > half95*s.vaguest() && s.Near < 1-Sure
}

// vague reports whether a lag is known so little that another take would narrow it by more
// than an eighth.
func (m *Posterior) vague(r Residual) bool {
	return square(r.SDMS) > m.pools[r.Voice].shared+square(sharpShare)*m.noise(r.Voice, usualTakeHits)
}

// Why says why a song is verified or not. Of several voices it names the one that
// is furthest off, by the names of all the machine's.
func (s *Setting) Why(name string, voices []string) string {
	why := s.why(name, voices)
	if s.Other {
		why += " " + i18n.L("It may strike a whole beat away, which takes cannot tell: watch the machine.")
	}
	return why
}

func (s *Setting) why(name string, voices []string) string {
	rest := s.worst()
	lag := i18n.F("expected %s (± %.1f)", calib.LateEarly(rest.LagMS), half95*rest.SDMS)
	if len(s.Parts) > 1 {
		lag = i18n.F("the %s stays %s (± %.1f)", voices[rest.Voice], calib.LateEarly(rest.LagMS), half95*rest.SDMS)
	}
	switch {
	case s.Verified && s.Chance >= Sure:
		return i18n.F("Verified: no more takes needed; %s, inside ±%.1f ms.", lag, s.LimitMS)
	case s.Verified:
		return i18n.F("Verified: no more takes needed; %s is as near as the plate goes, one step is %.1f ms.", lag, math.Abs(s.StepMS))
	case s.Hopeless:
		return i18n.F("No setting brings the voices of %s together within ±%.1f ms: %s. A drop or pins have to move, with the crank at rest.", name, s.LimitMS, lag)
	case half95*s.vaguest() > s.LimitMS, s.unheard():
		return i18n.F("Not sure yet: one of its voices is known only to ± %.0f ms, so it needs a take first.", half95*s.vaguest())
	}
	return i18n.F("Not sure yet: %s, inside ±%.1f ms with a chance of %.0f %%.", lag, s.LimitMS, 100*s.Chance)
}

// vaguest returns the largest standard uncertainty of its voices' lags.
func (s *Setting) vaguest() (sdMS float64) {
	for _, r := range s.Parts {
		sdMS = math.Max(sdMS, r.SDMS)
	}
	return sdMS
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
