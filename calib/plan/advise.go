package plan

import (
	"cmp"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Next is the take that teaches most.
type Next struct {
	Song     int     // index of the song to play it at
	TempoBPM float64 // of that song
	Setting  int     // where the plate goes first
	Move     int     // steps to there; positive = ahead
	Voice    int     // which voice to hear; −1 = all
	Why      string  // why, in a sentence
}

// quantity is a lag that the plan wants to know, or a take that could be played.
type quantity struct {
	song        int // index
	voice       int
	period      float64
	place       Place
	predictions []prediction // by each hypothesis
	sds         []float64    // by each hypothesis; of a take, of what it would read
	limit       float64      // of songs: beyond it the lag is outside
	weight      float64      // of songs
}

// What the advice looks at: that many of the likeliest hypotheses, of the least sure
// lags with their voices, and of the tempos of a set list.
const (
	adviseHypotheses = 16
	adviseGoals      = 24
	adviseVoices     = 3
	adviseTempos     = 16
)

// worthMoving is the share by which a later candidate has to be better.
const worthMoving = 0.02

// advise returns the take after which the least chance is left for a song to be
// outside. By each hypothesis a take is a rank-one update of the covariance between its
// lag and the songs' lags; and it decides between hypotheses as far as they foretell
// different lags for it.
func (m *Machine) advise(songs []Setting, b Bench) *Next {
	goals := m.goals(songs)
	if len(goals) == 0 {
		return nil
	}
	var best []quantity
	least := math.Inf(1)
	for _, c := range m.candidates(songs, goals, b) {
		if cost := m.risk(goals, c, b); cost < least*(1-worthMoving) {
			best, least = c, cost
		}
	}
	return m.next(songs, best[0], b)
}

// open reports whether takes can still help the song.
func (s *Setting) open() bool { return !s.Verified && !s.Hopeless }

// goals lists the lags of the songs that takes can help, the least sure first.
// While songs wait for voices that were never heard, these are the only goals.
func (m *Machine) goals(songs []Setting) []quantity {
	var goals []quantity
	first := unheard(songs)
	for i, s := range songs {
		if !s.open() {
			continue
		}
		for _, r := range s.Parts {
			if len(first) > 0 && !slices.Contains(first, r.Voice) {
				continue
			}
			a := m.quantity(r.Voice, calib.PeriodMS(s.Song.TempoBPM), s.place, (*hypothesis).cov)
			a.song, a.weight, a.limit = i, s.Song.importance(), s.LimitMS+nearSteps*math.Abs(s.StepMS)
			goals = append(goals, a)
		}
	}
	doubt := func(a *quantity) float64 { return a.weight * outside(a.predictions[0].mean, a.sds[0], a.limit) }
	slices.SortStableFunc(goals, func(a, b quantity) int { return cmp.Compare(doubt(&b), doubt(&a)) })
	return goals[:min(len(goals), adviseGoals)]
}

// unheard returns the voices that are still to be heard in a song of which others
// have been.
func unheard(songs []Setting) (voices []int) {
	for i := range songs {
		voices = append(voices, songs[i].Unheard()...)
	}
	return voices
}

// quantity works out a lag by every hypothesis, with a covariance.
func (m *Machine) quantity(voice int, periodMS float64, place Place, cov func(h *hypothesis, s, t *prediction) float64) quantity {
	q := quantity{voice: voice, period: periodMS, place: place}
	for i := range m.hypotheses[:min(len(m.hypotheses), adviseHypotheses)] {
		h := &m.hypotheses[i]
		v := h.lag(voice, periodMS, place)
		q.predictions = append(q.predictions, v)
		q.sds = append(q.sds, math.Sqrt(math.Max(cov(h, &v, &v), 0)))
	}
	return q
}

// candidates lists the takes that could be played, each with the lags it would
// hear: at each tempo of the set list with the plate left alone or at the song's
// setting. Leaving it comes first. A song that is beyond help is not played for the
// others' sake.
func (m *Machine) candidates(songs []Setting, goals []quantity, b Bench) [][]quantity {
	voices := unsure(goals)
	order := tempos(songs, voices)
	var all [][]quantity
	for _, i := range order {
		all = append(all, m.takesAt(voices, &songs[i], i, b.At, b.All)...)
	}
	for _, i := range order {
		if to := b.At.To(songs[i].Steps); to != b.At {
			all = append(all, m.takesAt(voices, &songs[i], i, to, b.All)...)
		}
	}
	return all
}

// takesAt lists the takes of a song at a place of the plate: one of each of its
// voices, or one of all together.
func (m *Machine) takesAt(voices []int, s *Setting, song int, at Place, together bool) (takes [][]quantity) {
	var heard []quantity
	for _, r := range s.Parts {
		if slices.Contains(voices, r.Voice) {
			c := m.quantity(r.Voice, calib.PeriodMS(s.Song.TempoBPM), at, (*hypothesis).read)
			c.song = song
			heard = append(heard, c)
		}
	}
	switch {
	case len(heard) == 0:
	case together:
		takes = append(takes, heard)
	default:
		for i := range heard {
			takes = append(takes, heard[i:i+1])
		}
	}
	return takes
}

// unsure returns the voices of the least sure goals.
func unsure(goals []quantity) []int {
	var voices []int
	for _, g := range goals {
		if !slices.Contains(voices, g.voice) && len(voices) < adviseVoices {
			voices = append(voices, g.voice)
		}
	}
	return voices
}

// tempos returns the indices of songs that spread over all tempos at which one of
// the voices is played, the slowest and the fastest among them, without those
// beyond help. The other songs' takes would hear nothing that is asked for.
func tempos(songs []Setting, voices []int) []int {
	var order []int
	for i := range songs {
		heard := slices.ContainsFunc(songs[i].Parts, func(r Rest) bool { return slices.Contains(voices, r.Voice) })
		if heard && !songs[i].Hopeless {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(songs[a].Song.TempoBPM, songs[b].Song.TempoBPM) })
	if len(order) <= adviseTempos {
		return order
	}
	var some []int
	for i := range adviseTempos {
		some = append(some, order[i*(len(order)-1)/(adviseTempos-1)])
	}
	return some
}

// beatLostShare is how well a take's lag has to be foreseen, as a share of the period,
// for the whole beat not to be in doubt.
const beatLostShare = 0.15

// risk returns the chances, summed over the goals, to be outside after a take: by
// the likeliest hypothesis with the spread that the take leaves, by the others as far as
// the take does not rule them out, and by a miscount on the way to it that the take
// does not show.
func (m *Machine) risk(goals []quantity, take []quantity, b Bench) float64 {
	noise := make([]float64, len(take))
	shows := 0.0 // how plainly the take shows a step too many, in standard deviations
	for i := range take {
		c := &take[i]
		own := c.sds[0] * c.sds[0]
		noise[i] = m.noise(c.voice)
		if c.sds[0] > beatLostShare*c.period {
			noise[i] += own // as much again goes into telling the beat
		}
		shows = math.Max(shows, m.hypotheses[0].step()*c.period/math.Sqrt(noise[i]+own))
	}
	slip := 0.0
	if take[0].place.Setting != b.At.Setting {
		slip = rates[Miscounted] * bhattacharyya(shows)
	}
	after := m.posteriorAfter(take, noise)
	var sum float64
	for i := range goals {
		g := &goals[i]
		chance := slip
		for j := range after {
			sd := m.sdAfter(j, g, take, noise)
			chance += after[j] * (outside(fold(g.predictions[j].mean, g.period), sd, g.limit) + spreadCost*math.Log1p(sd*sd/(g.limit*g.limit)))
		}
		sum += g.weight * chance
	}
	return sum
}

// spreadCost is what a spread beyond the limit costs besides: while hardly anything is
// known, one take changes no song's chance, but it can still halve the spread.
const spreadCost = 0.1

// posteriorAfter returns the weight that a take leaves each hypothesis, if the likeliest is true:
// what it foretells costs another hypothesis its relative entropy, the mean of the
// logarithm of how much worse it does (Kullback and Leibler 1951, from memory).
// Voices heard together each add their own.
func (m *Machine) posteriorAfter(take []quantity, noise []float64) []float64 {
	after := slices.Clone(m.posterior[:len(take[0].predictions)])
	for v := range take {
		c := &take[v]
		for i := range after {
			own, other := c.sds[0]*c.sds[0]+noise[v], c.sds[i]*c.sds[i]+noise[v]
			gap := fold(c.predictions[i].mean-c.predictions[0].mean, c.period)
			lost := (math.Log(other/own) + (own+gap*gap)/other - 1) / 2
			after[i] *= math.Exp(-lost)
		}
	}
	return after
}

// bhattacharyya is how much a take that could show two hypotheses apart by so many standard
// deviations leaves them mixed up: the Bhattacharyya coefficient of two normal
// laws, which bounds the error of choosing between them.
func bhattacharyya(gap float64) float64 { return math.Exp(-gap * gap / 8) }

// sdAfter returns the standard deviation of a goal by one hypothesis after a take: that
// which the voice of it leaves that tells most of the goal, mostly its own.
func (m *Machine) sdAfter(i int, g *quantity, take []quantity, noise []float64) float64 {
	was := g.sds[i] * g.sds[i]
	least := was
	for j := range take {
		c := &take[j]
		with := m.hypotheses[i].read(&g.predictions[i], &c.predictions[i])
		least = math.Min(least, was-with*with/(c.sds[i]*c.sds[i]+noise[j]))
	}
	return math.Sqrt(math.Max(least, 0))
}

// noise is the variance in ms² of a lag that a usual take would read.
func (m *Machine) noise(voice int) float64 {
	return m.pools[voice].variance/usualTakeHits + calib.TakeToTakeMS*calib.TakeToTakeMS + m.hypotheses[0].model.scatter
}

// usualTakeHits is how many hits a take usually has.
const usualTakeHits = 6

// next is the advice, and why.
func (m *Machine) next(songs []Setting, c quantity, b Bench) *Next {
	s := songs[c.song].Song
	n := &Next{Song: c.song, TempoBPM: s.TempoBPM, Setting: c.place.Setting, Move: c.place.Setting - b.At.Setting, Voice: c.voice}
	if b.All {
		n.Voice = -1
	}
	if len(unheard(songs)) > 0 {
		n.Why = i18n.L("No usable take includes that voice yet, and a song is not sure before all its voices are heard.")
		if b.All {
			n.Why = i18n.L("No usable take includes all voices yet, and a song is not sure before all its voices are heard.")
		}
		return n
	}
	open := 0
	for _, s := range songs {
		if s.open() {
			open++
		}
	}
	n.Why = i18n.F("Of all takes at the songs' tempos this one tells most about the %d of %d songs that are not sure yet.", open, len(songs))
	return n
}
