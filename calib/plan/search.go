package plan

import (
	"cmp"
	"math"
	"slices"
)

// search follows hypotheses side by side through the takes.
type search struct {
	known    Knowledge
	takes    []Take
	pools    []pooled
	most     int // hypotheses to keep
	live     []hypothesis
	next     []hypothesis
	branches []branch
	children []int   // of each hypothesis, branches that are still to grow
	best     float64 // log of the likeliest of them
}

// branch is one way in which a hypothesis can go on at a reading.
type branch struct {
	from         int // index of the hypothesis
	kind         Kind
	voice, steps int
	lag          float64 // of the reading, whole beats added
	log          float64 // of the hypothesis, once it has gone on
}

// add keeps a branch in mind that may be likely enough.
func (s *search) add(b branch) {
	if b.log > s.best-leastLog {
		s.best = math.Max(s.best, b.log)
		s.branches = append(s.branches, b)
	}
}

// How many hypotheses are followed, so that all readings together take about as
// long, and how much less likely than the best they may be, as a logarithm.
const (
	mostReadings   = 5000
	mostHypotheses = 300
	leastOfThem    = 6
	leastLog       = 14
)

// run follows the hypotheses through all takes.
func (s *search) run() {
	readings := 1
	for _, t := range s.takes {
		readings += len(t.Heard)
	}
	s.most = max(leastOfThem, min(mostHypotheses, mostReadings/readings))
	for _, m := range s.known.models(s.takes) {
		s.live = append(s.live, s.known.start(&m))
	}
	first := true
	for i, t := range s.takes {
		asTold := []outcome{{}}
		moves := asTold
		if !first && len(t.Heard) > 0 {
			moves = outcomes(moveBefore(s.takes, i), t.Advised)
		}
		for _, h := range t.Heard {
			s.branches, s.best = s.branches[:0], math.Inf(-1)
			for n := range s.live {
				s.branch(n, i, h, moves)
			}
			s.keep(i, h)
			moves, first = asTold, false
		}
	}
}

// moveBefore returns the steps that were told before a take since the last one that
// heard anything.
func moveBefore(takes []Take, i int) int {
	for j := i - 1; j >= 0; j-- {
		if len(takes[j].Heard) > 0 {
			return takes[i].Setting - takes[j].Setting
		}
	}
	return 0
}

// A reading is as expected where it lies within so many standard deviations of what
// a hypothesis predicts as sharply as the take reads it. Then nobody asks what went
// wrong.
const expected = 2.4

// openWrap is how well a lag has to be foreseen, as a share of what it may be off
// by whole multiples of, before only the nearest multiple is followed.
const openWrap = 1.0 / 8

// branch lists how a hypothesis can go on at a reading: by what has become of the
// move before it, by the whole beats that it leaves open, and by what can be wrong
// with the reading or the voice.
func (s *search) branch(n, take int, h Heard, moves []outcome) {
	w, t := &s.live[n], &s.takes[take]
	p := w.lag(h.Voice, h.PeriodMS, Place{Setting: t.Setting, Came: t.Came})
	perStep := w.predict(h.Voice, row{iF: -h.PeriodMS}) // by which a step further ahead changes the lag
	read := square(h.sd(s.pools[h.Voice]))
	law, with, own := w.variance(&p), w.cov(&p, &perStep), w.cov(&perStep, &perStep)
	try := func(kind Kind, steps int, mean, variance, log float64) {
		lag, wraps := h.near(mean, variance)
		if w.starting() {
			wraps = 0
		}
		for side := -wraps; side <= wraps; side++ {
			at := lag + float64(side)*h.WrapMS
			s.add(branch{n, kind, h.Voice, steps, at, w.log + log + w.density(h, at-mean, variance)})
		}
	}
	lag, wraps := h.near(p.mean, law+read)
	try(Fine, 0, p.mean, law+read, moves[0].log)
	if wraps == 0 && law < read/4 && square(lag-p.mean) < expected*expected*(law+read) {
		return
	}
	for _, m := range moves[1:] {
		by := float64(m.steps)
		try(m.kind, m.steps, p.mean+by*perStep.mean, law+by*(2*with+by*own)+read, m.log)
	}
	foreseen := law < square(openWrap*h.PeriodMS) // else any reading would look like a change, or like another voice's
	if foreseen {
		try(FallOther, 0, p.mean, law+read+otherMS*otherMS, math.Log(rates[FallOther]))
		try(PinOther, 0, p.mean, law+read+square(otherBeats*h.PeriodMS), math.Log(rates[PinOther]))
	}
	aside := func(kind Kind, log float64) { s.add(branch{n, kind, h.Voice, 0, h.LagMS, w.log + log}) }
	aside(Bad, math.Log(rates[Bad]/float64(len(t.Heard))/badSpread(h.WrapMS, law)))
	mirrored := h
	mirrored.LagMS = -h.LagMS
	lag, _ = mirrored.near(p.mean, law+read)
	aside(Crossed, math.Log(rates[Crossed]/float64(len(t.Heard)))+w.density(h, lag-p.mean, law+read))
	for v := range w.voices {
		if v != h.Voice && len(t.Heard) == 1 && foreseen {
			o := w.lag(v, h.PeriodMS, Place{Setting: t.Setting, Came: t.Came})
			spread := w.variance(&o) + read
			lag, _ := h.near(o.mean, spread)
			aside(WrongVoice, math.Log(rates[WrongVoice]/float64(len(w.voices)-1))+w.density(h, lag-o.mean, spread))
		}
	}
}

// density is the logarithm of how likely a reading is that lies so far from what
// the hypothesis predicts. While nothing is known of the start, all places within a
// beat are alike.
func (h *hypothesis) density(of Heard, missMS, variance float64) float64 {
	if h.starting() {
		return -math.Log(of.PeriodMS)
	}
	return logNormal(missMS, variance)
}

// near returns the lag with whole beats added as lies nearest to what is expected,
// and how many either side of it are worth following.
func (h Heard) near(mean, variance float64) (lag float64, wraps int) {
	if !(h.WrapMS > 0) {
		return h.LagMS, 0
	}
	if variance > square(openWrap*h.WrapMS) {
		wraps = 1
	}
	return h.LagMS + h.WrapMS*math.Round((mean-h.LagMS)/h.WrapMS), wraps
}

// badSpread is over how many ms a bad reading may lie: where hardly anything is
// foreseen, over no less than a good one, but within the whole beats that it leaves
// open.
func badSpread(wrapMS, variance float64) float64 {
	vague := math.Sqrt(2 * math.Pi * variance)
	if wrapMS > 0 {
		vague = math.Min(vague, wrapMS)
	}
	return math.Max(badSpreadMS, vague)
}

// logNormal is the logarithm of the normal density.
func logNormal(x, variance float64) float64 {
	return -(x*x/variance + math.Log(2*math.Pi*variance)) / 2
}

func square(x float64) float64 { return x * x }

// keep goes on with the likeliest branches.
func (s *search) keep(take int, h Heard) {
	s.branches = slices.DeleteFunc(s.branches, func(b branch) bool { return b.log < s.best-leastLog })
	slices.SortStableFunc(s.branches, func(a, b branch) int { return cmp.Compare(b.log, a.log) })
	s.branches = s.branches[:min(s.most, len(s.branches))]
	s.children = append(s.children[:0], make([]int, len(s.live))...)
	for _, b := range s.branches {
		s.children[b.from]++
	}
	s.next = s.next[:0]
	for i := range s.branches {
		s.next = append(s.next, s.grow(&s.branches[i], take, h))
	}
	s.live, s.next = s.next, s.live
}

// grow returns a hypothesis as it is after a branch. The last branch of it has its
// voices, the others have copies.
func (s *search) grow(b *branch, take int, h Heard) hypothesis {
	w, t := s.live[b.from], &s.takes[take]
	w.log = b.log
	if s.children[b.from]--; s.children[b.from] > 0 {
		w.voices = slices.Clone(w.voices)
	}
	if b.kind != Fine {
		f := &fault{kind: b.kind, take: take, voice: b.voice, steps: b.steps, before: w.faults}
		if b.steps != 0 {
			f.voice = -1
		}
		w.faults, w.offset = f, w.offset+b.steps
		if f.aside() {
			return w
		}
	}
	switch b.kind {
	case FallOther:
		w.voices[h.Voice].blur(iD, otherMS)
		w.solve(h.Voice)
	case PinOther:
		w.voices[h.Voice].blur(iA, otherBeats)
		w.solve(h.Voice)
	}
	place := Place{Setting: t.Setting + w.offset, Came: t.Came}
	w.observe(h.Voice, gradient(h.PeriodMS, place.Setting, place.Came), b.lag, square(h.sd(s.pools[h.Voice])))
	if h.SlopeSD > 0 {
		slope := gradient(1, place.Setting, place.Came)
		slope[iD] = 0
		y := h.Slope + (b.lag-h.LagMS)/h.PeriodMS // whole beats grow with the period too
		p := w.predict(h.Voice, slope)
		w.log += logNormal(y-p.mean, w.variance(&p)+h.SlopeSD*h.SlopeSD)
		w.observe(h.Voice, slope, y, h.SlopeSD*h.SlopeSD)
	}
	return w
}
