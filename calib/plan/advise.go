package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lagwright/calib"
)

// Next is the take that teaches most.
type Next struct {
	Song     int     // index of the song to play it at
	TempoBPM float64 // of that song
	Setting  int     // where the plate goes first
	Move     int     // steps to there; positive = ahead
	Voice    int     // which voice to hear; −1 = all
	Do       string  // what to do, in a few words
	Why      string  // why, in a sentence
}

// aim is a lag that the plan wants to know, or a take that could be played.
type aim struct {
	voice  int
	period float64
	place  Place
	views  []view // by each way
	mean   float64
	room   float64 // how sure it has to be, in ms; of songs
	weight float64 // of songs
	song   int     // of takes
}

// adviseWays is how many ways the advice looks at.
const adviseWays = 16

// advise returns the take after which the least sure song is surest: what each
// take would tell is a rank-one update of the covariance between its lag and the
// songs' lags. The ways count as one spread-out law whose covariance includes how
// far they lie apart, so that a take that decides between them counts as much as
// one that narrows each.
func (m *Machine) advise(songs []Setting, b Bench) *Next {
	goals := m.goals(songs, b.At)
	if len(goals) == 0 {
		return nil
	}
	var best aim
	least := math.Inf(1)
	for _, c := range m.candidates(songs, b) {
		if cost := m.after(goals, &c, b); cost < least*(1-worthMoving) {
			best, least = c, cost
		}
	}
	return m.next(songs, best, b, least)
}

// worthMoving is the share by which a later candidate has to be better.
const worthMoving = 0.02

// goals lists the lags of the songs that are not verified.
func (m *Machine) goals(songs []Setting, from Place) []aim {
	var goals []aim
	for i, s := range songs {
		if s.Verified {
			continue
		}
		for _, r := range s.Parts {
			a := m.aim(r.Voice, calib.PeriodMS(s.Song.TempoBPM), from.To(s.Steps))
			a.song, a.weight = i, s.Song.importance()
			a.room = math.Max(s.LimitMS+nearSteps*math.Abs(s.StepMS)-math.Abs(r.LagMS), nearSteps*s.LimitMS)
			goals = append(goals, a)
		}
	}
	return goals
}

// aim works out a lag by every way.
func (m *Machine) aim(voice int, periodMS float64, place Place) aim {
	a := aim{voice: voice, period: periodMS, place: place}
	for i := range m.ways[:min(len(m.ways), adviseWays)] {
		w := &m.ways[i]
		v := w.look(voice, w.row(periodMS, place))
		a.views = append(a.views, v)
		a.mean += m.weight[i] * v.mean
	}
	return a
}

// cov returns the covariance of two lags over all ways.
func (m *Machine) cov(a, b *aim) float64 {
	var sum float64
	for i := range a.views {
		u, v := &a.views[i], &b.views[i]
		sum += m.weight[i] * (m.excess*m.ways[i].cov(u, v) + (u.mean-a.mean)*(v.mean-b.mean))
	}
	return sum
}

// candidates lists the takes that could be played: at each tempo of the set list
// with the plate left alone or at the song's setting. Leaving it comes first.
func (m *Machine) candidates(songs []Setting, b Bench) []aim {
	var all []aim
	for _, move := range []bool{false, true} {
		for _, i := range tempos(songs) {
			s := &songs[i]
			place := b.At
			if move {
				place = b.At.To(s.Steps)
			}
			if move && place == b.At {
				continue
			}
			for _, r := range s.Parts {
				c := m.aim(r.Voice, calib.PeriodMS(s.Song.TempoBPM), place)
				c.song = i
				all = append(all, c)
			}
		}
	}
	return all
}

// manyTempos is how many tempos of a set list are worth comparing.
const manyTempos = 16

// tempos returns the indices of songs that spread over all tempos, the slowest
// and the fastest among them.
func tempos(songs []Setting) []int {
	order := make([]int, len(songs))
	for i := range order {
		order[i] = i
	}
	tempo := func(a, b int) int { return cmp.Compare(songs[a].Song.TempoBPM, songs[b].Song.TempoBPM) }
	slices.SortStableFunc(order, tempo)
	order = slices.CompactFunc(order, func(a, b int) bool { return tempo(a, b) == 0 && len(songs[a].Song.Parts) == 0 })
	if len(order) <= manyTempos {
		return order
	}
	var some []int
	for i := range manyTempos {
		some = append(some, order[i*(len(order)-1)/(manyTempos-1)])
	}
	return some
}

// lost is how well a take's lag has to be foreseen, as a share of the period,
// for the whole beat not to be in doubt.
const lost = 0.15

// after returns how unsure the songs are left by a take: for each the standard
// deviation over the room it has, by a high power so that the worst counts most.
func (m *Machine) after(goals []aim, c *aim, b Bench) float64 {
	own := m.cov(c, c)
	noise := m.noise(c.voice)
	slip := 0.0 // variance of the steps by which a move may be off
	if c.place.Setting != b.At.Setting {
		slip = 2 * rates[Miscounted]
	}
	f := m.ways[0].step()
	spread := own + noise + slip*f*f*c.period*c.period
	if own > lost*lost*c.period*c.period {
		spread += own // half of it goes into telling the beat
	}
	var sum float64
	for i := range goals {
		g := &goals[i]
		common := f * f * slip * c.period * g.period
		with := m.cov(g, c) + common
		if b.All && g.voice != c.voice {
			continue
		}
		left := math.Max(m.cov(g, g)+f*f*slip*g.period*g.period-with*with/spread, 0)
		r := left / (g.room * g.room)
		sum += g.weight * r * r
	}
	return sum
}

// noise is the variance in ms² of a lag that a usual take would read.
func (m *Machine) noise(voice int) float64 {
	p := m.pools[voice]
	return p.variance/usualTakeHits + calib.TakeToTakeMS*calib.TakeToTakeMS
}

// usualTakeHits is how many hits a take usually has.
const usualTakeHits = 6

// next says the advice in words.
func (m *Machine) next(songs []Setting, c aim, b Bench, _ float64) *Next {
	s := songs[c.song].Song
	n := &Next{Song: c.song, TempoBPM: s.TempoBPM, Setting: c.place.Setting, Move: c.place.Setting - b.At.Setting, Voice: c.voice}
	if b.All {
		n.Voice = -1
	}
	name := s.Name
	if name == "" {
		name = "a take"
	}
	n.Do = fmt.Sprintf("Play %s at %.4g BPM", name, s.TempoBPM)
	if n.Move != 0 {
		n.Do = calib.TurnWords(n.Move) + ", then play " + name + fmt.Sprintf(" at %.4g BPM", s.TempoBPM)
	}
	unsure := 0
	for _, s := range songs {
		if !s.Verified {
			unsure++
		}
	}
	n.Why = fmt.Sprintf("Of all takes at the songs' tempos this one tells most about the %d of %d songs that are not sure yet.", unsure, len(songs))
	return n
}
