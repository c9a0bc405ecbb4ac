package plan

import (
	"cmp"
	"math"
	"slices"
)

// search follows ways through the takes.
type search struct {
	known Knowledge
	takes []Take
	pools []pooled
	live  []way
	next  []way
	hard  bool
	fresh []block // of next, by index: what the reading's voice is known by then
}

// How many ways are followed, and how much less likely than the best they may be,
// as a logarithm. A long session knows its law so well that few are worth it.
const (
	keepWays  = 48
	keepFewer = 5
	keepLog   = 14
	keepLess  = 7
	longTakes = 24
)

// Where even the likeliest way supposes more mistakes than usual, the right one may
// have been given up too early: then more are followed.
const (
	usualFaults = 2
	usualEvery  = 10 // and one more in so many takes
	keepMore    = 400
	keepLonger  = 30
)

func (s *search) limits() (keep int, log float64) {
	switch {
	case len(s.takes) > longTakes:
		return keepFewer, keepLess
	case s.hard:
		return keepMore, keepLonger
	}
	return keepWays, keepLog
}

// run follows the ways through all takes.
func (s *search) run() {
	s.live = s.live[:0]
	for _, m := range s.known.models(s.takes) {
		s.live = append(s.live, s.known.start(&m))
	}
	for i := range s.takes {
		s.take(i)
	}
}

// faulty reports whether the likeliest way supposes more mistakes than usual.
func (s *search) faulty() bool {
	best := slices.MaxFunc(s.live, func(a, b way) int { return cmp.Compare(a.score(), b.score()) })
	n := 0
	for f := best.faults; f != nil; f = f.before {
		n++
	}
	return n > usualFaults+len(s.takes)/usualEvery
}

// take follows every way through one take.
func (s *search) take(i int) {
	s.branch(i)
	for _, h := range s.takes[i].Heard {
		s.hear(i, h)
	}
}

// branch splits each way by what may have happened to the move before a take.
func (s *search) branch(i int) {
	if i == 0 || s.takes[i].Setting == s.takes[i-1].Setting {
		return
	}
	var split []way
	all := slips(s.takes[i].Setting - s.takes[i-1].Setting)
	for _, w := range s.live {
		some := all
		if s.plain(i, &w) {
			some = all[:1]
		}
		for _, slip := range some {
			split = append(split, w.suppose(fault{kind: slip.kind, take: i, voice: -1, steps: slip.steps}, slip.log))
		}
		if slip, ok := s.toldWrong(i, &w); ok && len(some) > 1 {
			split = append(split, w.suppose(fault{kind: slip.kind, take: i, voice: -1, steps: slip.steps}, slip.log))
		}
	}
	s.live = split
}

// toldWrong returns the miscount by many steps that the first reading of a take speaks
// for. It is not ok where that cannot be counted, or something else says it.
func (s *search) toldWrong(i int, w *way) (slip, bool) {
	t, move := s.takes[i], s.takes[i].Setting-s.takes[i-1].Setting
	if len(t.Heard) == 0 {
		return slip{}, false
	}
	h := t.Heard[0]
	here := at(h.PeriodMS, float64(t.Setting+w.offset), t.Came)
	next := at(h.PeriodMS, float64(t.Setting+w.offset+1), t.Came)
	v, ahead := w.look(h.Voice, here), w.look(h.Voice, next)
	stepMS := v.mean - ahead.mean
	f := w.foresee(t, h, h.sd(s.pools[h.Voice]))
	if !(stepMS > 0) || f.wraps > 1 || f.sd > stepMS/2 {
		return slip{}, false
	}
	by := int(math.Round(-f.miss / stepMS))
	if by*by <= 4 || by*by > mostWrong*mostWrong || by == -move || by == -2*move {
		return slip{}, false
	}
	share := 0.5 / (2 * (mostWrong - 2))
	if lag := h.LagMS + float64(f.nearest)*h.WrapMS; math.Abs(lag) <= stepMS/2 {
		share += 0.5
	}
	return slip{Miscounted, by, math.Log(toldWrong * share)}, true
}

// plain reports whether a take of a long session begins as the way expects, so that
// there is no need to ask what happened to the move before it.
func (s *search) plain(i int, w *way) bool {
	if t := s.takes[i]; len(s.takes) > longTakes && len(t.Heard) > 0 {
		h := t.Heard[0]
		return w.foresee(t, h, h.sd(s.pools[h.Voice])).usual()
	}
	return false
}

// hear lets every way learn from one reading.
func (s *search) hear(i int, h Heard) {
	s.next, s.fresh = s.next[:0], s.fresh[:0]
	sd := h.sd(s.pools[h.Voice])
	for n := range s.live {
		w := &s.live[n]
		f := w.foresee(s.takes[i], h, sd)
		for j := range f.wraps {
			s.try(w, i, h, h.LagMS+float64(f.nearest+sides[j])*h.WrapMS, sd, Fine)
		}
		if len(s.takes) > longTakes && f.usual() {
			continue
		}
		if lag := h.LagMS + float64(f.nearest)*h.WrapMS; i > 0 {
			s.try(w, i, h, lag, sd, FallOther)
			s.try(w, i, h, lag, sd, PinOther)
		}
		bad := w.suppose(fault{kind: Bad, take: i, voice: h.Voice}, math.Log(rates[Bad]/f.badSpread(h.WrapMS)))
		s.next, s.fresh = append(s.next, bad), append(s.fresh, *w.voices[h.Voice])
	}
	s.prune(h.Voice)
}

// try adds the way that learns from a reading, taken as it is or after a change
// to its voice.
func (s *search) try(w *way, i int, h Heard, lag, sd float64, changed Kind) {
	b := *w.voices[h.Voice]
	next := *w
	if w.started() {
		next.log += withinABeat
	}
	if changed != Fine {
		next = next.change(&b, i, h.Voice, changed)
	}
	t := s.takes[i]
	g := at(h.PeriodMS, float64(t.Setting+w.offset), t.Came)
	next.observe(&b, g, lag, sd)
	if h.SlopeSD > 0 {
		slope := at(1, float64(t.Setting+w.offset), t.Came)
		slope[iD] = 0
		beats := (lag - h.LagMS) / h.PeriodMS // whole beats grow with the period too
		next.observe(&b, slope, h.Slope+beats, h.SlopeSD)
	}
	b.solve()
	s.next, s.fresh = append(s.next, next.learn(h.Voice, &b)), append(s.fresh, b)
}

// change returns the way in which a voice is another from a take on.
func (w way) change(b *block, take, voice int, kind Kind) way {
	i, sd := iD, otherMS
	if kind == PinOther {
		i, sd = iA, otherBeats
	}
	explained, log := b.loosen(i, sd)
	w.chi -= explained
	return w.suppose(fault{kind: kind, take: take, voice: voice}, math.Log(rates[kind])-log/2)
}

// observe adds an observation to a block and to the way's sums.
func (w *way) observe(b *block, g row, y, sd float64) {
	for i, m := range w.model.mean {
		y -= g[i] * m
	}
	b.observe(g, y, sd)
	w.chi += y * y / (sd * sd)
	w.log -= math.Log(sd * math.Sqrt(2*math.Pi))
	w.seen++
}

// foreseen is what a way expects of a reading.
type foreseen struct {
	nearest int // whole multiples by which the reading is best shifted
	wraps   int // how many multiples are worth following: that one, or its neighbours too
	miss    float64
	lawSD   float64 // of the expected lag
	sd      float64 // of miss
}

// sides are the multiples worth following, from the nearest.
var sides = [...]int{0, -1, 1}

// openWrap is how well a lag has to be foreseen, as a share of what it may be off
// by whole multiples of, before only the nearest multiple is followed.
const openWrap = 1.0 / 8

func (w *way) foresee(t Take, h Heard, sd float64) foreseen {
	v := w.look(h.Voice, at(h.PeriodMS, float64(t.Setting+w.offset), t.Came))
	f := foreseen{wraps: 1, lawSD: math.Sqrt(math.Max(w.cov(&v, &v), 0))}
	f.sd = math.Hypot(f.lawSD, sd)
	if h.WrapMS > 0 {
		f.nearest = int(math.Round((v.mean - h.LagMS) / h.WrapMS))
		if f.sd > openWrap*h.WrapMS && !w.started() {
			f.wraps = len(sides)
		}
	}
	f.miss = h.LagMS + float64(f.nearest)*h.WrapMS - v.mean
	return f
}

// usualMiss is the distance, in standard deviations, below which a long session
// does not ask what may have gone wrong.
const usualMiss = 2.4

func (f foreseen) usual() bool { return f.wraps == 1 && math.Abs(f.miss) < usualMiss*f.sd }

// badSpread is over how many ms a bad reading may lie: where hardly anything is
// foreseen, over no less than a good one, but within the whole beats that it leaves
// open.
func (f foreseen) badSpread(wrapMS float64) float64 {
	vague := math.Sqrt(2*math.Pi) * f.lawSD
	if wrapMS > 0 {
		vague = math.Min(vague, wrapMS)
	}
	return math.Max(badSpreadMS, vague)
}

// prune keeps the likeliest ways and gives each a block of its own.
func (s *search) prune(voice int) {
	keep, log := s.limits()
	order := make([]int, len(s.next))
	scores := make([]float64, len(s.next))
	for i := range s.next {
		order[i], scores[i] = i, s.next[i].score()
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(scores[b], scores[a]), a-b) })
	s.live = s.live[:0]
	for _, i := range order[:min(keep, len(order))] {
		if scores[i] < scores[order[0]]-log {
			break
		}
		w, b := s.next[i], s.fresh[i]
		w.voices = slices.Clone(w.voices)
		w.voices[voice] = &b
		s.live = append(s.live, w)
	}
}
