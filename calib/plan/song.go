package plan

import (
	"math"
	"slices"

	"lagwright/calib"
)

// Song is one entry of the set list.
type Song struct {
	TempoBPM   float64
	Voices     []int   // that it uses; none = all
	Importance float64 // 0 = as any other, which is 1
	Here       bool    // it is played now: the plate comes from where it stands, not from the song before
	Tight      *Tight  // where takes found its voices so; nil = nowhere
}

// Tight is a setting at which takes found voices tight.
type Tight struct {
	Setting int
	Take    int // index of the last of those takes
}

// Place is where the plate stands and how it came there.
type Place struct {
	Setting        int  // steps; positive = ahead
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
	Steps    int        // where the plate goes; positive = ahead
	StepMS   float64    // what one step is worth at the song's tempo
	LimitMS  float64    // a lag within ± this passes
	Parts    []Residual // what remains, voice by voice
	Chance   float64    // that every voice is within LimitMS, all hypotheses considered
	Near     float64    // the same, within LimitMS and NearSteps of a step more
	Off      float64    // chance that Steps is off by more than a step, and by more than passes
	Suspect  *Finding   // in doubt, the likeliest mistake that would put Steps off; nil = there are just too few takes
	Other    bool       // a voice seems to strike whole beats away from the others, which takes cannot tell
	Window   Window     // the tempos at which every voice stays within LimitMS there, or as near as at the song's own where it passes on the edge
	Hopeless bool       // no setting brings every voice inside, and further takes would not change that
	Enough   bool       // no more takes needed

	place Place     // where the plate then stands, reached from the song before
	beats []float64 // for each part that counts: the whole beats in its lag by the likeliest hypothesis
}

// Residual is what remains of a voice's lag at a song's setting.
type Residual struct {
	Voice int
	LagMS float64 // the middle of its 95 % interval by all hypotheses; positive = late
	SDMS  float64 // half of that interval, in standard uncertainties

	// Unheard: no take that counts has heard the voice, unlike others of the song. LagMS is
	// what is believed before any, and moves no setting; the song is not sure before.
	Unheard bool
}

// Window is a range of tempos in BPM. HighBPM is +Inf where no tempo is too fast,
// LowBPM 0 where none is too slow; both are 0 where no tempo passes.
type Window struct{ LowBPM, HighBPM float64 }

// NearSteps is the part of a step by which a lag may lie beyond the limit where it is known
// exactly: on the edge between two settings neither is better.
const NearSteps = 0.075

// WorthMS is by how much nearer a move has to bring a lag to be worth its while: by more than
// half the lag's 95 % interval, and than NearSteps of a step; ms.
func WorthMS(stepMS, halfMS float64) float64 {
	return math.Max(halfMS, NearSteps*math.Abs(stepMS))
}

// voices returns the voices of a song.
func (k Knowledge) voices(s Song) []int {
	if len(s.Voices) > 0 {
		return s.Voices
	}
	all := make([]int, k.Voices)
	for v := range all {
		all[v] = v
	}
	return all
}

// Heard reports whether a take has heard a voice, and the likeliest hypothesis
// does not set that reading aside.
func (m *Posterior) Heard(voice int) bool { return m.heard[voice] }

// counted returns those of some voices that have been heard, which say where the plate
// goes, or all where none has.
func (m *Posterior) counted(voices []int) []int {
	unheard := func(v int) bool { return !m.heard[v] }
	if heard := slices.DeleteFunc(slices.Clone(voices), unheard); len(heard) > 0 {
		return heard
	}
	return voices
}

// unheard reports whether a voice of the song is still to be heard.
func (s *Setting) unheard() bool {
	return slices.ContainsFunc(s.Parts, func(r Residual) bool { return r.Unheard })
}

// Best returns the best setting for a song from the place of the song before:
// the one whose worst lag is smallest by the likeliest hypothesis. Voices that
// were never heard have no say in it, as long as others of the song were.
func (m *Posterior) Best(s Song, from Place) Setting {
	return m.At(s, from.To(m.compromise(s, calib.PeriodMS(s.TempoBPM), from)))
}

// Doubt reports whether the chance to be off is too large to ask for a move without saying so.
func (s *Setting) Doubt() bool { return s.Off > 1-Sure }

// At returns what to expect of a song with the plate at a place, be it the best or not. What
// takes found tight there stays so where nobody knows how far the plate was turned since: it is
// judged from where the plate then stood, and only Off tells of how to get there now.
func (m *Posterior) At(s Song, at Place) Setting {
	now := m.at(s, at, len(m.takes))
	if now.Enough || s.Tight == nil || s.Tight.Setting != at.Setting {
		return now
	}
	then := m.at(s, at, s.Tight.Take)
	then.Off, then.Suspect = now.Off, now.Suspect
	return then
}

// at is At, settings counted from where the plate stood in a take, as the likeliest has that.
func (m *Posterior) at(s Song, at Place, take int) Setting {
	period := calib.PeriodMS(s.TempoBPM)
	law := &m.hypotheses[0]
	step := law.step() * period
	voices := m.known.voices(s)
	counted := m.counted(voices)
	out := Setting{Song: s, Steps: at.Setting, StepMS: step, LimitMS: m.known.Limit(step), place: at}
	m.foresee(&out, voices, counted, period, take)
	limit := out.LimitMS
	if m.judge(&out); out.Enough { // it passes on the edge too, and so does its own tempo
		for _, v := range counted {
			limit = math.Max(limit, math.Abs(m.Lag(v, at, period))*(1+1e-9))
		}
	}
	out.Window = law.window(counted, at, limit)
	return out
}

// foresee works out what is to be expected of a song at its setting, all hypotheses
// considered: what remains of its voices, of which some count for the setting. A lag of
// a whole beat counts as none: hits that are all alike never show it.
func (m *Posterior) foresee(s *Setting, voices, counted []int, periodMS float64, take int) {
	near, most := s.LimitMS+NearSteps*math.Abs(s.StepMS), 0.0
	s.Parts, s.beats = make([]Residual, 0, len(voices)), make([]float64, 0, len(counted))
	every := make([]normal, len(m.hypotheses))
	each := make([]struct {
		place           Place   // where the plate then is, counted from the take
		outside, beyond float64 // at most, by Boole's inequality
		lags            extremes
	}, len(m.hypotheses))
	var l prediction
	for i := range each {
		each[i].place = s.place
		each[i].place.Setting += m.hypotheses[0].faults.since(take) - m.hypotheses[i].faults.since(take)
	}
	for _, v := range voices {
		counts, first := m.heard[v] || len(counted) == len(voices), len(s.beats) == 0
		for i := range m.hypotheses {
			h, by := &m.hypotheses[i], &each[i]
			h.lag(&l, v, periodMS, by.place)
			sd := math.Sqrt(h.variance(&l))
			every[i] = normal{l.mean, sd}
			beats := math.Round(l.mean / periodMS)
			l.mean -= beats * periodMS
			if by.beyond < 1 { // else it is as unlikely as it gets
				by.outside += outside(l.mean, sd, s.LimitMS)
				by.beyond += outside(l.mean, sd, near)
			}
			if counts {
				by.lags.add(&l, first)
			}
			if counts && i == 0 {
				s.beats = append(s.beats, beats)
			}
		}
		rest := m.central(func(i int) normal { return every[i] }, periodMS)
		s.Parts = append(s.Parts, Residual{v, rest.mean, rest.sd, !counts})
	}
	var other *hypothesis
	for i, p := range m.posterior {
		h, by := &m.hypotheses[i], &each[i]
		s.Chance += p * math.Max(1-by.outside, 0)
		s.Near += p * math.Max(1-by.beyond, 0)
		off := p * h.off(&by.lags, math.Max(math.Abs(h.step()*periodMS), s.LimitMS))
		if s.Off += off; off > most {
			most, other = off, h
		}
	}
	if s.Doubt() {
		s.Suspect = m.suspect(other)
	}
}

// mostSteps bounds a setting where the step is not known from zero.
const mostSteps = 1e6

// compromise returns the setting at which the worst lag of the voices is smallest. A turn moves
// all lags alike, and the worst is convex in the setting, so the best whole step lies next
// to the best of all settings, or as far from it as the play of the plate. Where takes found the
// song tight it stays unless another setting is worth the move: a player does not relearn one
// for nothing.
func (m *Posterior) compromise(song Song, periodMS float64, from Place) int {
	law, voices := &m.hypotheses[0], m.counted(m.known.voices(song))
	var lags extremes
	var l prediction
	for i, v := range voices {
		law.lag(&l, v, periodMS, from)
		lags.add(&l, i == 0)
	}
	by := lags.middle() / (law.step() * periodMS)
	by = math.Max(math.Min(by, mostSteps), -mostSteps)
	worst := func(to Place) float64 {
		turned := (float64(to.Came-from.Came)*law.shared.x[iB-iF] - float64(to.Setting-from.Setting)*law.step()) * periodMS
		return math.Max(math.Abs(lags.least.mean+turned), math.Abs(lags.most.mean+turned))
	}
	best, off := from.Setting, math.Inf(1)
	play := 1 + int(math.Ceil(math.Abs(2*law.shared.x[iB-iF]/law.step())))
	for s := int(math.Floor(by)) - play; s <= int(math.Ceil(by))+play; s++ {
		to := from.To(from.Setting + s)
		if w := worst(to); w < off-exact { // of equally good ones the first, whatever the rounding
			best, off = to.Setting, w
		}
	}
	if song.Tight == nil || song.Tight.Setting == best {
		return best
	}
	there, half := from.To(song.Tight.Setting), 0.0
	for _, v := range voices {
		half = math.Max(half, calib.Half95*law.expect(v, periodMS, there).sd)
	}
	if worst(there)-off < WorthMS(law.step()*periodMS, half) {
		return there.Setting
	}
	return best
}

// extremes are the smallest and the largest of some lags: the worst is smallest once
// zero lies midway between the two.
type extremes struct{ least, most prediction }

func (e *extremes) add(l *prediction, first bool) {
	if first || l.mean < e.least.mean {
		e.least = *l
	}
	if first || l.mean > e.most.mean {
		e.most = *l
	}
}

func (e *extremes) middle() float64 { return (e.least.mean + e.most.mean) / 2 }

// off returns the probability by one hypothesis that the setting at which the worst of the
// lags is smallest is further away than a limit in ms.
func (h *hypothesis) off(lags *extremes, limitMS float64) float64 {
	a, b := &lags.least, &lags.most
	variance := (h.variance(a) + h.variance(b) + 2*h.cov(a, b)) / 4
	return outside(lags.middle(), math.Sqrt(math.Max(variance, 0)), limitMS)
}

// window returns the tempos at which |D + (A − f·s + b)·P| stays within the limit
// for every voice.
func (h *hypothesis) window(voices []int, place Place, limitMS float64) Window {
	low, high := 0.0, math.Inf(1) // of the period
	var delay, slope prediction
	for _, v := range voices {
		h.predict(&delay, v, &row{iD: 1})
		h.predict(&slope, v, slopeRow(place.Setting+h.offset, place.Came))
		a, b := stay(delay.mean, slope.mean, limitMS)
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

// otherBeats works out, for each song, whether one of its voices strikes whole beats away
// from the others. Whole beats that all voices of all songs share are no matter: nobody can
// tell where the programme begins. A voice that is still to be heard is left out.
func otherBeats(songs []Setting) {
	var all []float64
	for i := range songs {
		all = append(all, songs[i].beats...)
	}
	slices.Sort(all)
	for i := range songs {
		songs[i].Other = slices.ContainsFunc(songs[i].beats, func(b float64) bool { return b != all[len(all)/2] })
	}
}

// outside returns the probability that a normal value lies beyond ± the limit.
func outside(mean, sd, limit float64) float64 {
	near, far := limit-math.Abs(mean), limit+math.Abs(mean)
	switch {
	case near < -beyondDoubt*sd:
		return 1
	case near >= beyondDoubt*sd:
		return 0
	case far >= beyondDoubt*sd:
		return math.Erfc(near/(math.Sqrt2*sd)) / 2
	}
	return (math.Erfc(near/(math.Sqrt2*sd)) + math.Erfc(far/(math.Sqrt2*sd))) / 2
}

// beyondDoubt is beyond how many standard deviations there is no probability left to add.
const beyondDoubt = 9
