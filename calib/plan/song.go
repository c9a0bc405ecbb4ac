package plan

import (
	"math"
	"slices"

	"lagwright/calib"
)

// Song is one entry of the set list.
type Song struct {
	Name       string
	TempoBPM   float64
	Parts      []Part  // the voices it uses; none = all, alike
	Importance float64 // 0 = as any other, which is 1
	Here       bool    // it is played now: the plate comes from where it stands, not from the song before
	Settled    *int    // setting, as told, at which takes found its voices tight; nil = none
}

// Part is a voice in a song. A lag of a voice of weight 2 counts as twice as far.
type Part struct {
	Voice  int
	Weight float64 // 0 = 1
}

// Place is where the plate stands and how it came there.
type Place struct {
	Setting        int  // steps as told; positive = ahead
	Came           int  // which way it was last turned: +1 ahead, −1 back, 0 = not known
	Unidirectional bool // each move ends ahead: one back goes past its setting and comes back to it
}

// To returns the place after turning to a setting.
func (p Place) To(setting int) Place {
	switch {
	case setting > p.Setting, setting < p.Setting && p.Unidirectional:
		p.Came = 1
	case setting < p.Setting:
		p.Came = -1
	}
	p.Setting = setting
	return p
}

// Setting is what the takes tell of a song.
type Setting struct {
	Song     Song
	Steps    int      // where the plate goes; positive = ahead
	StepMS   float64  // what one step is worth at the song's tempo
	LimitMS  float64  // a lag within ± this passes
	Parts    []Rest   // what remains, voice by voice
	Chance   float64  // that every voice is within LimitMS, all hypotheses considered
	Near     float64  // the same, within LimitMS and nearSteps of a step more
	Off      float64  // chance that Steps is off by more than a step
	Doubt    bool     // that chance is too large, and Chance too small, to ask for a move without saying so
	Suspect  *Finding // in doubt, the likeliest mistake that would put Steps off; nil = there are just too few takes
	Other    float64  // chance that a voice strikes whole beats away from the others, which takes cannot tell
	Window   Window   // the tempos at which every voice stays within LimitMS there, or as near as at the song's own where it passes on the edge
	Hopeless bool     // no setting brings every voice inside, and further takes would not change that
	Verified bool     // no more takes needed

	place Place     // where the plate then stands, reached from the song before
	beats []float64 // by each hypothesis, for each part that counts: the whole beats in its lag
}

// Rest is what remains of a voice's lag at a song's setting.
type Rest struct {
	Voice int
	LagMS float64 // positive = late
	SDMS  float64 // standard uncertainty of LagMS
	Heard bool    // a take that counts has heard the voice; else LagMS is what is believed before any
}

// Window is a range of tempos in BPM. HighBPM is +Inf where no tempo is too fast,
// LowBPM 0 where none is too slow; both are 0 where no tempo passes.
type Window struct{ LowBPM, HighBPM float64 }

// nearSteps is how much further from zero than the limit a lag may be without a
// move being worth its while: on the edge between two settings neither is better.
const nearSteps = 0.1

// parts returns the voices of a song with their weights.
func (k Knowledge) parts(s Song) []Part {
	if len(s.Parts) > 0 {
		return s.Parts
	}
	all := make([]Part, k.Voices)
	for v := range all {
		all[v].Voice = v
	}
	return all
}

// Heard reports whether a take has heard a voice, and the likeliest hypothesis
// does not set that reading aside.
func (m Machine) Heard(voice int) bool { return m.heard[voice] }

// heardOf returns the parts whose voices have been heard, which say where the plate goes,
// or all where none has.
func heardOf[T any](parts []T, heard func(T) bool) []T {
	some := slices.DeleteFunc(slices.Clone(parts), func(p T) bool { return !heard(p) })
	if len(some) == 0 {
		return parts
	}
	return some
}

func (m *Machine) counted(parts []Part) []Part {
	return heardOf(parts, func(p Part) bool { return m.Heard(p.Voice) })
}

func (s *Setting) counted() []Rest { return heardOf(s.Parts, func(r Rest) bool { return r.Heard }) }

// Unheard returns the voices of the song that no take that counts has heard, where
// one has heard others of it. They move no setting, and the song is not sure
// before they are heard.
func (s *Setting) Unheard() (voices []int) {
	for _, r := range s.Parts {
		if !r.Heard {
			voices = append(voices, r.Voice)
		}
	}
	if len(voices) == len(s.Parts) {
		return nil
	}
	return voices
}

func (p Part) weight() float64 {
	if p.Weight > 0 {
		return p.Weight
	}
	return 1
}

func (s Song) importance() float64 {
	if s.Importance > 0 {
		return s.Importance
	}
	return 1
}

// setting returns the best setting for a song from the place of the song before:
// the one whose worst weighted lag is smallest by the likeliest hypothesis. Voices that
// were never heard have no say in it, as long as others of the song were.
func (m *Machine) setting(s Song, from Place) Setting {
	period, counted := calib.PeriodMS(s.TempoBPM), m.counted(m.known.parts(s))
	return m.At(s, from.To(m.settled(s, counted, period, from, m.compromise(counted, period, from))))
}

// At returns what to expect of a song with the plate at a place, be it the best or not.
func (m *Machine) At(s Song, at Place) Setting {
	period := calib.PeriodMS(s.TempoBPM)
	law := &m.hypotheses[0]
	step := law.step() * period
	parts := m.known.parts(s)
	counted := m.counted(parts)
	out := Setting{Song: s, Steps: at.Setting, StepMS: step, LimitMS: m.known.limit(step), place: at}
	out.Window = law.window(counted, at, out.LimitMS)
	m.foresee(&out, parts, counted, period)
	return out
}

// foresee works out what is to be expected of a song at its setting, all hypotheses
// considered: what remains of its parts, of which some count for the setting. A lag of
// a whole beat counts as none: hits that are all alike never show it.
func (m *Machine) foresee(s *Setting, parts, counted []Part, periodMS float64) {
	near, most := s.LimitMS+nearSteps*math.Abs(s.StepMS), 0.0
	var other *hypothesis
	lags := make([]prediction, 0, len(parts)) // of those that count
	every := make([][]normal, len(parts))
	for j := range every {
		every[j] = make([]normal, 0, len(m.hypotheses))
	}
	for i := range m.hypotheses {
		h := &m.hypotheses[i]
		inside, nearly := 1.0, 1.0 // at least, by Boole's inequality
		lags = lags[:0]
		for j, p := range parts {
			l := h.lag(p.Voice, periodMS, s.place)
			sd := math.Sqrt(h.variance(&l))
			every[j] = append(every[j], normal{l.mean, sd})
			beats := math.Round(l.mean / periodMS)
			l.mean -= beats * periodMS
			inside -= outside(l.mean, sd, s.LimitMS)
			nearly -= outside(l.mean, sd, near)
			if len(counted) == len(parts) || m.heard[p.Voice] {
				lags, s.beats = append(lags, l), append(s.beats, beats)
			}
		}
		s.Chance += m.posterior[i] * math.Max(inside, 0)
		s.Near += m.posterior[i] * math.Max(nearly, 0)
		off := m.posterior[i] * h.off(lags, counted, math.Abs(h.step()*periodMS))
		if s.Off += off; off > most {
			most, other = off, h
		}
	}
	for j, p := range parts {
		s.Parts = append(s.Parts, Rest{p.Voice, every[j][0].mean, m.spread(every[j], periodMS), m.heard[p.Voice]})
	}
	if s.Doubt = s.Off > 1-sure && s.Chance < sure; s.Doubt {
		s.Suspect = m.suspect(other)
	}
}

// mostSteps bounds a setting where the step is not known from zero.
const mostSteps = 1e6

// compromise returns the setting at which the worst weighted lag of the parts is
// smallest. The worst is convex in the setting, so the best whole step lies next
// to the best of all settings, or as far from it as the play of the plate.
func (m *Machine) compromise(parts []Part, periodMS float64, from Place) int {
	law := &m.hypotheses[0]
	lags := make([]prediction, len(parts))
	for i, p := range parts {
		lags[i] = law.lag(p.Voice, periodMS, from)
	}
	by := middleOf(lags, parts).ms / (law.step() * periodMS)
	by = math.Max(math.Min(by, mostSteps), -mostSteps)
	best, least := from.Setting, math.Inf(1)
	play := 1 + int(math.Ceil(math.Abs(2*law.fit.x[iB-iF]/law.step())))
	for s := int(math.Floor(by)) - play; s <= int(math.Ceil(by))+play; s++ {
		to := from.To(from.Setting + s)
		if w := law.worst(parts, periodMS, to); w < least {
			best, least = to.Setting, w
		}
	}
	return best
}

// settled returns the setting at which takes found a song tight in place of the best
// one, where that gains less than nearSteps of a step or than the law knows: a player
// does not relearn a setting for nothing.
func (m *Machine) settled(s Song, parts []Part, periodMS float64, from Place, best int) int {
	if s.Settled == nil || *s.Settled == best {
		return best
	}
	law, there := &m.hypotheses[0], from.To(*s.Settled)
	worth := nearSteps * math.Abs(law.step()*periodMS)
	for _, p := range parts {
		l := law.lag(p.Voice, periodMS, there)
		worth = math.Max(worth, half95*math.Sqrt(law.variance(&l)))
	}
	if law.worst(parts, periodMS, there)-law.worst(parts, periodMS, from.To(best)) < worth {
		return *s.Settled
	}
	return best
}

// worst returns the largest weighted lag of the parts.
func (h *hypothesis) worst(parts []Part, periodMS float64, at Place) float64 {
	var most float64
	for _, p := range parts {
		most = math.Max(most, p.weight()*math.Abs(h.lag(p.Voice, periodMS, at).mean))
	}
	return most
}

// middle is by how much all lags have to be lessened for the worst weighted one to
// be smallest: the weighted centre of points on a line, which the two that pull
// hardest decide.
type middle struct {
	ms   float64
	a, b int     // the two
	of   float64 // share of a; the rest is b's
}

func middleOf(lags []prediction, parts []Part) middle {
	var m middle
	pull := -1.0
	for i := range lags {
		for j := range lags {
			u, v := parts[i].weight(), parts[j].weight()
			if p := u * v / (u + v) * (lags[i].mean - lags[j].mean); p > pull {
				m, pull = middle{lags[i].mean - p/u, i, j, u / (u + v)}, p
			}
		}
	}
	return m
}

// off returns the probability by one hypothesis that the setting at which the worst
// weighted lag of the parts is smallest is further than a step away.
func (h *hypothesis) off(lags []prediction, parts []Part, stepMS float64) float64 {
	at := middleOf(lags, parts)
	a, b := &lags[at.a], &lags[at.b]
	variance := at.of*at.of*h.variance(a) + (1-at.of)*(1-at.of)*h.variance(b) + 2*at.of*(1-at.of)*h.cov(a, b)
	return outside(at.ms, math.Sqrt(math.Max(variance, 0)), stepMS)
}

// window returns the tempos at which |D + (A − f·s + b)·P| stays within the limit
// for every part.
func (h *hypothesis) window(parts []Part, place Place, limitMS float64) Window {
	low, high := 0.0, math.Inf(1) // of the period
	for _, p := range parts {
		slope := h.predict(p.Voice, slopeRow(place.Setting+h.offset, place.Came)).mean
		delay := h.predict(p.Voice, row{1}).mean
		a, b := stay(delay, slope, limitMS)
		low, high = math.Max(low, a), math.Min(high, b)
	}
	if !(low < high) {
		return Window{}
	}
	return Window{calib.TempoBPM(high), calib.TempoBPM(low)}
}

// stay returns the positive periods at which |delay + slope·P| <= limit.
func stay(delay, slope, limit float64) (low, high float64) {
	a, b := (-limit-delay)/slope, (limit-delay)/slope
	switch {
	case slope == 0 && math.Abs(delay) <= limit:
		return 0, math.Inf(1)
	case slope == 0:
		return 1, 0
	}
	return math.Max(math.Min(a, b), 0), math.Max(a, b)
}

// fold returns a lag less the nearest whole beats.
func fold(lagMS, periodMS float64) float64 {
	return lagMS - periodMS*math.Round(lagMS/periodMS)
}

// otherBeats works out, for each song, the chance that one of its voices strikes
// whole beats away from the others. Whole beats that all voices of all songs share
// are no matter: nobody can tell where the programme begins. A voice that is still
// to be heard is left out.
func (m *Machine) otherBeats(songs []Setting) {
	var all []float64
	for i, p := range m.posterior {
		own := func(s *Setting) []float64 {
			n := len(s.beats) / len(m.posterior)
			return s.beats[i*n : (i+1)*n]
		}
		all = all[:0]
		for j := range songs {
			all = append(all, own(&songs[j])...)
		}
		slices.Sort(all)
		usual := all[len(all)/2]
		for j := range songs {
			if slices.ContainsFunc(own(&songs[j]), func(b float64) bool { return b != usual }) {
				songs[j].Other += p
			}
		}
	}
}

// outside returns the probability that a normal value lies beyond ± the limit.
func outside(mean, sd, limit float64) float64 {
	if !(sd > 0) {
		if math.Abs(mean) <= limit {
			return 0
		}
		return 1
	}
	z := math.Sqrt2 * sd
	return (math.Erfc((limit-mean)/z) + math.Erfc((limit+mean)/z)) / 2
}
