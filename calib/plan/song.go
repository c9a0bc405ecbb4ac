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
	Window   Window   // the tempos at which every voice stays within LimitMS there
	Hopeless bool     // no setting brings every voice inside, and further takes would not change that
	Verified bool     // no more takes needed
	Why      string   // or why not, in a sentence

	place Place // where the plate then stands, reached from the song before
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
func (m Machine) Heard(voice int) bool {
	for i, t := range m.takes {
		if slices.ContainsFunc(t.Heard, func(h Heard) bool { return h.Voice == voice }) && !m.hypotheses[0].sets(i, voice) {
			return true
		}
	}
	return false
}

// counted returns the parts that say where the plate goes: those whose voices have
// been heard, or all where none has.
func (m *Machine) counted(parts []Part) []Part {
	heard := slices.DeleteFunc(slices.Clone(parts), func(p Part) bool { return !m.Heard(p.Voice) })
	if len(heard) == 0 {
		return parts
	}
	return heard
}

// counted returns the parts whose voices have been heard, or all where none has.
func (s *Setting) counted() []Rest {
	heard := slices.DeleteFunc(slices.Clone(s.Parts), func(r Rest) bool { return !r.Heard })
	if len(heard) == 0 {
		return s.Parts
	}
	return heard
}

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
	period := calib.PeriodMS(s.TempoBPM)
	law := &m.hypotheses[0]
	step := law.step() * period
	parts := m.known.parts(s)
	counted := m.counted(parts)
	out := Setting{Song: s, StepMS: step, LimitMS: m.known.limit(step)}
	out.Steps = m.settled(s, counted, period, from, m.compromise(counted, period, from))
	out.place = from.To(out.Steps)
	place := out.place
	for _, p := range parts {
		l := law.lag(p.Voice, period, place)
		out.Parts = append(out.Parts, Rest{p.Voice, l.mean, math.Sqrt(m.excess * law.variance(&l)), m.Heard(p.Voice)})
	}
	out.Window = law.window(counted, place, out.LimitMS)
	out.Chance, out.Near = m.chance(parts, period, place, out.LimitMS), m.chance(parts, period, place, out.LimitMS+nearSteps*math.Abs(step))
	var other *hypothesis
	out.Off, other = m.off(counted, period, place)
	if out.Doubt = out.Off > doubtful && out.Chance < sure; out.Doubt {
		out.Suspect = m.suspect(other)
	}
	return out
}

// mostSteps bounds a setting where the step is not known from zero.
const mostSteps = 1e6

// compromise returns the setting at which the worst weighted lag of the parts is
// smallest. The worst is convex in the setting, so the best whole step lies next
// to the best of all settings, or as far from it as the play of the plate.
func (m *Machine) compromise(parts []Part, periodMS float64, from Place) int {
	law := &m.hypotheses[0]
	lags := make([]float64, len(parts))
	for i, p := range parts {
		lags[i] = law.lag(p.Voice, periodMS, from).mean
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
		worth = math.Max(worth, half95*math.Sqrt(m.excess*law.variance(&l)))
	}
	if law.worst(parts, periodMS, there)-law.worst(parts, periodMS, from.To(best)) < worth {
		return *s.Settled
	}
	return best
}

// half95 is half a 95 % interval in standard deviations.
const half95 = 1.96

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

func middleOf(lags []float64, parts []Part) middle {
	var m middle
	pull := -1.0
	for i, a := range lags {
		for j, b := range lags {
			u, v := parts[i].weight(), parts[j].weight()
			if p := u * v / (u + v) * (a - b); p > pull {
				m, pull = middle{a - p/u, i, j, u / (u + v)}, p
			}
		}
	}
	return m
}

// doubtful is the chance to be off by more than a step from which on a setting is
// in doubt.
const doubtful = 0.05

// off returns the probability that a place is further than a step from the setting
// at which the worst weighted lag of the parts is smallest, all hypotheses
// considered, and the likeliest of those by which it is.
func (m *Machine) off(parts []Part, periodMS float64, place Place) (chance float64, by *hypothesis) {
	most := 0.0
	lags := make([]float64, len(parts))
	all := make([]prediction, len(parts))
	for i := range m.hypotheses {
		h := &m.hypotheses[i]
		for j, p := range parts {
			all[j] = h.lag(p.Voice, periodMS, place)
			lags[j] = fold(all[j].mean, periodMS)
		}
		at := middleOf(lags, parts)
		a, b := &all[at.a], &all[at.b]
		variance := at.of*at.of*h.variance(a) + (1-at.of)*(1-at.of)*h.variance(b) + 2*at.of*(1-at.of)*h.cov(a, b)
		share := m.posterior[i] * outside(at.ms, math.Sqrt(m.excess*math.Max(variance, 0)), math.Abs(h.step()*periodMS))
		if chance += share; share > most {
			most, by = share, h
		}
	}
	return chance, by
}

// window returns the tempos at which |D + (A − f·s + b)·P| stays within the limit
// for every part.
func (h *hypothesis) window(parts []Part, place Place, limitMS float64) Window {
	low, high := 0.0, math.Inf(1) // of the period
	for _, p := range parts {
		slope := h.predict(p.Voice, unit(gradient(1, place.Setting+h.offset, place.Came))).mean
		delay := h.predict(p.Voice, row{1}).mean
		a, b := stay(delay, slope, limitMS)
		low, high = math.Max(low, a), math.Min(high, b)
	}
	if !(low < high) {
		return Window{}
	}
	return Window{calib.TempoBPM(high), calib.TempoBPM(low)}
}

// unit drops the delay from a row, which leaves what grows with the period.
func unit(g row) row {
	g[iD] = 0
	return g
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

// chance returns the probability that every part lies within the limit: by each
// hypothesis at least one less the sum of the parts' chances to lie outside (Boole's
// inequality), averaged over the hypotheses. A lag of a whole beat counts as none: hits
// that are all alike never show it.
func (m *Machine) chance(parts []Part, periodMS float64, place Place, limitMS float64) float64 {
	var sum float64
	for i := range m.hypotheses {
		h := &m.hypotheses[i]
		inside := 1.0
		for _, p := range parts {
			l := h.lag(p.Voice, periodMS, place)
			inside -= outside(fold(l.mean, periodMS), math.Sqrt(m.excess*h.variance(&l)), limitMS)
		}
		sum += m.posterior[i] * math.Max(inside, 0)
	}
	return sum
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
	for i := range m.hypotheses {
		h := &m.hypotheses[i]
		var beats []float64
		for _, s := range songs {
			period := calib.PeriodMS(s.Song.TempoBPM)
			for _, r := range s.counted() {
				beats = append(beats, math.Round(h.lag(r.Voice, period, s.place).mean/period))
			}
		}
		usual := slices.Sorted(slices.Values(beats))[len(beats)/2]
		for j := range songs {
			own := beats[:len(songs[j].counted())]
			beats = beats[len(own):]
			if slices.ContainsFunc(own, func(b float64) bool { return b != usual }) {
				songs[j].Other += m.posterior[i]
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
