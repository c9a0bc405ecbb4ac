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
	ToBPM    float64 // the tempo to which the crank goes from there, slowly; 0 = the take keeps to TempoBPM
	Move     int     // steps to turn first; positive = ahead
	Voice    int     // which voice to hear; −1 = all
	Why      string  // why, in a sentence
}

// quantity is a lag that the plan wants to know, or a take that could be played.
type quantity struct {
	song   int // index
	voice  int
	period float64
	place  Place
	by     []normal // each hypothesis; of a take, what it would read
	limit  float64  // of songs: beyond it the lag is outside
	weight float64  // of songs
	noise  float64  // of takes: variance of what is read, ms²
}

// What the advice looks at: that many of the likeliest hypotheses, of the least sure
// lags with their voices, and of the tempos of a set list.
const (
	adviseHypotheses = 16
	adviseGoals      = 24
	adviseVoices     = 3
	adviseTempos     = 16
)

// candidate is a take that could be played: the lags that it would tell. A sweep tells
// each voice's at both its ends.
type candidate struct {
	heard []quantity
	toBPM float64 // of a sweep
}

// worthMoving is the share by which a later candidate has to be better. A sweep takes a
// minute: it has to be worth a chance of worthSweeping for each lag.
const (
	worthMoving   = 0.02
	worthSweeping = 0.001
)

// A song's tempos are worth a sweep where the fastest is so much faster than the slowest.
// Then each end is told as well as by a take of so many hits at it.
const (
	sweepShare   = 1.2
	sweepEndHits = 15
)

// advise returns the take after which the least chance is left for a song to be
// outside. Each hypothesis observes a take that could be played as it does one that was;
// and a take decides between hypotheses as far as they foretell different lags for it.
func (m *Posterior) advise(songs []Setting, b Situation) *Next {
	goals := m.goals(songs)
	if len(goals) == 0 {
		return nil
	}
	var best candidate
	least := math.Inf(1)
	for _, c := range m.candidates(songs, goals, b) {
		cost := m.risk(goals, c)
		if c.toBPM > 0 {
			cost += worthSweeping * float64(len(goals))
		}
		if cost < least*(1-worthMoving) {
			best, least = c, cost
		}
	}
	return m.next(songs, best, b)
}

// open reports whether takes can still help the song.
func (s *Setting) open() bool { return !s.Enough && !s.Hopeless }

// goals lists the lags of the songs that takes can help, the least sure first.
// While songs wait for voices that were never heard, these are the only goals.
func (m *Posterior) goals(songs []Setting) []quantity {
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
			a := m.quantity(r.Voice, calib.PeriodMS(s.Song.TempoBPM), s.place)
			a.song, a.weight, a.limit = i, cmp.Or(s.Song.Importance, 1), s.LimitMS
			if s.Near < Sure {
				a.limit += NearSteps * math.Abs(s.StepMS)
			}
			goals = append(goals, a)
		}
	}
	doubt := func(a *quantity) float64 { return a.weight * outside(a.by[0].mean, a.by[0].sd, a.limit) }
	slices.SortStableFunc(goals, func(a, b quantity) int { return cmp.Compare(doubt(&b), doubt(&a)) })
	return goals[:min(len(goals), adviseGoals)]
}

// unheard returns the voices that are still to be heard in a song of which others
// have been.
func unheard(songs []Setting) (voices []int) {
	for _, s := range songs {
		for _, r := range s.Parts {
			if r.Unheard {
				voices = append(voices, r.Voice)
			}
		}
	}
	return voices
}

// quantity works out a lag by every hypothesis.
func (m *Posterior) quantity(voice int, periodMS float64, place Place) quantity {
	q := quantity{voice: voice, period: periodMS, place: place}
	for i := range m.hypotheses[:min(len(m.hypotheses), adviseHypotheses)] {
		q.by = append(q.by, m.hypotheses[i].expect(voice, periodMS, place))
	}
	return q
}

// candidates lists the takes that could be played: at each tempo of the set list, with the
// plate left alone or at the song's setting, and, where more than one is open, sweeps through
// all of them, with the plate at the setting of the slowest or of the fastest, or left alone.
// What comes first is better where the others tell as much: to leave the plate, and to find
// by a second sweep that it is right. The
// first take says what setting 0 is. A song that is beyond help is not played for the
// others' sake.
func (m *Posterior) candidates(songs []Setting, goals []quantity, b Situation) (all []candidate) {
	voices := unsure(goals)
	groups := [][]int{voices}
	if !b.All {
		groups = slices.Collect(slices.Chunk(voices, 1))
	}
	var moved []candidate
	started := slices.Contains(m.heard, true)
	some := slices.ContainsFunc(goals, func(g quantity) bool { return g.song != goals[0].song })
	for _, group := range groups {
		order := tempos(songs, group)
		slow, fast := order[0], order[len(order)-1]
		if !b.Steady && some && songs[fast].Song.TempoBPM >= sweepShare*songs[slow].Song.TempoBPM {
			for _, to := range []Place{b.At.To(songs[slow].Steps), b.At, b.At.To(songs[fast].Steps)} {
				if to == b.At || started && !b.Put {
					all = append(all, m.sweep(group, songs, slow, fast, to))
				}
			}
		}
		for _, i := range order {
			all = append(all, m.steady(group, songs, i, b.At))
			if to := b.At.To(songs[i].Steps); started && to != b.At {
				moved = append(moved, m.steady(group, songs, i, to))
			}
		}
	}
	return append(all, moved...)
}

// steady is a take of some voices at a song's tempo, as far as it uses them.
func (m *Posterior) steady(voices []int, songs []Setting, song int, at Place) (c candidate) {
	for _, r := range songs[song].Parts {
		if slices.Contains(voices, r.Voice) {
			c.add(m, r.Voice, song, &songs[song], at, usualTakeHits)
		}
	}
	return c
}

// sweep is, roughly, two takes at its ends: how takes scatter counts at both, where a fit
// has it once. It is a take of some voices from the slowest song's tempo to the fastest's.
func (m *Posterior) sweep(voices []int, songs []Setting, slow, fast int, at Place) candidate {
	c := candidate{toBPM: songs[fast].Song.TempoBPM}
	for _, v := range voices {
		c.add(m, v, slow, &songs[slow], at, sweepEndHits)
		c.add(m, v, fast, &songs[fast], at, sweepEndHits)
		c.heard[len(c.heard)-1].noise = m.noise(v, sweepEndHits) // a sweep is followed from end to end: which beat is told once
	}
	return c
}

// add adds what a take tells of a voice at a song's tempo by so many hits.
func (c *candidate) add(m *Posterior, voice, index int, song *Setting, at Place, hits float64) {
	q := m.quantity(voice, calib.PeriodMS(song.Song.TempoBPM), at)
	for i := range q.by { // takes are sure of each other as to what they share
		q.by[i].sd = math.Sqrt(math.Max(square(q.by[i].sd)-m.pools[voice].shared, 0))
	}
	q.song, q.noise = index, m.noise(voice, hits)
	if sd := q.by[0].sd; sd > beatLostShare*q.period {
		q.noise += sd * sd // as much again goes into telling the beat
	}
	c.heard = append(c.heard, q)
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
		heard := slices.ContainsFunc(songs[i].Parts, func(r Residual) bool { return slices.Contains(voices, r.Voice) })
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
// the likeliest hypothesis with the spread that the take leaves, and by the others as far
// as the take does not rule them out.
func (m *Posterior) risk(goals []quantity, take candidate) float64 {
	after := m.posteriorAfter(take.heard)
	var sum float64
	for j := range after {
		h := m.hypotheses[j].after(take.heard)
		for i := range goals {
			g := &goals[i]
			sd := h.expect(g.voice, g.period, g.place).sd
			sum += g.weight * after[j] * (outside(math.Remainder(g.by[j].mean, g.period), sd, g.limit) + spreadCost*math.Log1p(sd*sd/(g.limit*g.limit)))
		}
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
func (m *Posterior) posteriorAfter(take []quantity) []float64 {
	after := slices.Clone(m.posterior[:len(take[0].by)])
	for v := range take {
		c := &take[v]
		for i := range after {
			own, other := square(c.by[0].sd)+c.noise, square(c.by[i].sd)+c.noise
			gap := math.Remainder(c.by[i].mean-c.by[0].mean, c.period)
			lost := (math.Log(other/own) + (own+gap*gap)/other - 1) / 2
			after[i] *= math.Exp(-lost)
		}
	}
	return after
}

// after returns a hypothesis as sure as it is once a take has told some lags, whatever they are.
func (h hypothesis) after(take []quantity) hypothesis {
	h.voices = slices.Clone(h.voices)
	for i := range take {
		q := &take[i]
		h.observe(q.voice, gradient(q.period, q.place.Setting+h.offset, q.place.Came), 0, q.noise)
	}
	return h
}

// noise is the variance in ms² of a lag that a take of so many hits would read.
func (m *Posterior) noise(voice int, hits float64) float64 {
	return m.pools[voice].variance/hits + calib.TakeToTakeMS*calib.TakeToTakeMS + m.hypotheses[0].model.scatter
}

// usualTakeHits is how many hits a take usually has.
const usualTakeHits = 6

// next is the advice, and why.
func (m *Posterior) next(songs []Setting, take candidate, b Situation) *Next {
	c := &take.heard[0]
	s := songs[c.song].Song
	n := &Next{Song: c.song, TempoBPM: s.TempoBPM, ToBPM: take.toBPM, Move: c.place.Setting - b.At.Setting, Voice: c.voice}
	if b.All {
		n.Voice = -1
	}
	open := 0
	for i := range songs {
		if songs[i].open() {
			open++
		}
	}
	switch waiting := len(unheard(songs)) > 0; {
	case n.ToBPM > 0:
		n.Why = i18n.L("One take of about a minute, through the tempos of all songs, shows the lag at each of them; steady takes would need two or more for that.")
	case waiting && b.All:
		n.Why = i18n.L("No usable take includes all voices yet, and a song is not sure before all its voices are heard.")
	case waiting:
		n.Why = i18n.L("No usable take includes that voice yet, and a song is not sure before all its voices are heard.")
	case open == len(songs) && open > 1:
		n.Why = i18n.F("None of the %d songs is sure yet; this take helps most.", open)
	default:
		n.Why = i18n.F("Not sure yet: %d of %d songs. Of all takes at their tempos, this one helps most.", open, len(songs))
	}
	return n
}
