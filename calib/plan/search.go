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
	met      int // readings so far
	live     []hypothesis
	next     []hypothesis
	branches []branch
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
	if s.likely(b.log) {
		s.best = math.Max(s.best, b.log)
		s.branches = append(s.branches, b)
	}
}

// likely reports whether a branch so likely may be worth following.
func (s *search) likely(log float64) bool { return log > s.best-leastLog }

// How many hypotheses are followed, so that all readings together take about as
// long, but more than a few at first, before the machine's model is known; and how much
// less likely than the best they may be, as a logarithm.
const (
	mostReadings    = 5000
	mostHypotheses  = 300
	leastOfThem     = 6
	firstReadings   = 50
	firstHypotheses = 40
	leastLog        = 14
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
	first, asTold := true, []outcome{{}}
	stood, at, advised := false, 0, 0 // since the last take that heard anything: a night or more, its setting, and the move advised
	for i, t := range s.takes {
		if t.Advised != 0 && i > 0 {
			advised = s.takes[i-1].Setting - at + t.Advised
		}
		if !first && (t.Days > 0 || len(t.Changed) > 0) {
			for n := range s.live {
				s.live[n].between(&t)
			}
		}
		if stood = stood || t.Days > 0; len(t.Heard) == 0 {
			continue
		}
		moves := asTold
		if !first {
			moves = outcomes(t.Setting-at, advised, stood)
		}
		first, stood, at, advised = false, false, t.Setting, 0
		for _, h := range t.Heard {
			r := reading{Observation: h, take: i, at: Place{Setting: t.Setting, Came: t.Came}, together: len(t.Heard), variance: square(h.sd(s.pools[h.Voice])), moves: moves}
			r.most = math.Max(logNormal(0, r.variance), -math.Log(h.PeriodMS))
			s.meet(&r)
			moves = asTold
		}
	}
}

// between lets a hypothesis forget what changed between a take and the one before it:
// each delay walks at random (the local level model; Durbin and Koopman 2012, Time
// Series Analysis by State Space Methods, 2.1), and what was worked on is as good as new.
func (h *hypothesis) between(t *Take) {
	creep := math.Sqrt(h.model.creep * t.Days)
	for v := range h.voices {
		h.learn(v, func(b *block) {
			if creep > 0 {
				b.blur(iD, creep)
			}
			for _, c := range t.Changed {
				switch {
				case c.Voice >= 0 && c.Voice != v:
				case c.Pins:
					b.blur(iA, movedBeats)
				default:
					b.blur(iD, changedMS)
				}
			}
		})
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

// reading is the one that the hypotheses meet next.
type reading struct {
	Observation
	take     int // index
	at       Place
	together int       // how many voices the take heard
	variance float64   // of its lag
	most     float64   // log of the highest density that any hypothesis gives it
	moves    []outcome // what can have become of the move before it: first that it went as told
}

// by returns the variance of the reading's lag by a hypothesis.
func (r *reading) by(h *hypothesis) float64 { return r.variance + h.model.scatter }

// meet lets all hypotheses go on at a reading, and keeps the likeliest.
func (s *search) meet(r *reading) {
	s.branches, s.best = s.branches[:0], math.Inf(-1)
	for n := range s.live {
		s.branch(n, r)
	}
	s.keep(r)
}

// branch lists how a hypothesis can go on at a reading: by what has become of the
// move before it, by the whole beats that it leaves open, and by what can be wrong
// with the reading or the voice.
func (s *search) branch(n int, r *reading) {
	w := &s.live[n]
	p := w.lag(r.Voice, r.PeriodMS, r.at)
	law := w.variance(&p)
	read := r.by(w)
	lag, wraps := r.near(p.mean, law+read)
	s.try(n, r, r.moves[0], p.mean, law)
	if wraps == 0 && law < read/4 && square(lag-p.mean) < expected*expected*(law+read) {
		return
	}
	perStep := w.predict(r.Voice, row{iF: -r.PeriodMS}) // by which a step further ahead changes the lag
	with, own := w.cov(&p, &perStep), w.cov(&perStep, &perStep)
	for _, m := range r.moves[1:] {
		by := float64(m.steps)
		s.try(n, r, m, p.mean+by*perStep.mean, law+by*(2*with+by*own))
	}
	foreseen := law < square(openWrap*r.PeriodMS) // else any reading would look like a change, or like another voice's
	if foreseen {
		s.try(n, r, outcome{FallChanged, 0, math.Log(rates[FallChanged])}, p.mean, law+square(changedMS))
		s.try(n, r, outcome{PinMoved, 0, math.Log(rates[PinMoved])}, p.mean, law+square(movedBeats*r.PeriodMS))
	}
	s.aside(n, r, foreseen, &p)
}

// try adds what a hypothesis can go on with where a reading counts, and the lag is
// then expected with some variance.
func (s *search) try(n int, r *reading, o outcome, mean, law float64) {
	w := &s.live[n]
	variance := law + r.by(w)
	lag, wraps := r.near(mean, variance)
	if w.starting() {
		wraps = 0
	}
	for side := -wraps; side <= wraps; side++ {
		at := lag + float64(side)*r.WrapMS
		if log := w.log + o.log - square(at-mean)/variance/2; s.likely(log + r.most) { // spares most a logarithm
			s.add(branch{n, o.kind, r.Voice, o.steps, at, w.log + o.log + w.density(r, at-mean, variance)})
		}
	}
}

// aside adds what a hypothesis can go on with where a reading does not count for the
// voice.
func (s *search) aside(n int, r *reading, foreseen bool, p *prediction) {
	w := &s.live[n]
	law, read := w.variance(p), r.by(w)
	add := func(kind Kind, share int, log float64) {
		s.add(branch{n, kind, r.Voice, 0, r.LagMS, w.log + math.Log(rates[kind]/float64(share)) + log})
	}
	add(Bad, r.together, -math.Log(badSpread(r.WrapMS, law)))
	mirrored := r.Observation
	mirrored.LagMS = -r.LagMS
	lag, _ := mirrored.near(p.mean, law+read)
	add(Crossed, r.together, w.density(r, lag-p.mean, law+read))
	if r.together > 1 || !foreseen {
		return
	}
	for v := range w.voices {
		if v != r.Voice {
			o := w.lag(v, r.PeriodMS, r.at)
			spread := w.variance(&o) + read
			lag, _ := r.near(o.mean, spread)
			add(WrongVoice, len(w.voices)-1, w.density(r, lag-o.mean, spread))
		}
	}
}

// density is the logarithm of how likely a reading is that lies so far from what
// the hypothesis predicts. While nothing is known of the start, all places within a
// beat are alike.
func (h *hypothesis) density(of *reading, missMS, variance float64) float64 {
	if h.starting() {
		return -math.Log(of.PeriodMS)
	}
	return logNormal(missMS, variance)
}

// near returns the lag with whole beats added as lies nearest to what is expected,
// and how many either side of it are worth following.
func (h Observation) near(mean, variance float64) (lag float64, wraps int) {
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
func (s *search) keep(r *reading) {
	most := s.most
	if s.met++; s.met <= firstReadings {
		most = max(most, firstHypotheses)
	}
	s.branches = slices.DeleteFunc(s.branches, func(b branch) bool { return !s.likely(b.log) })
	slices.SortFunc(s.branches, func(a, b branch) int { return cmp.Compare(b.log, a.log) })
	s.branches = s.branches[:min(most, len(s.branches))]
	s.next = s.next[:0]
	for i := range s.branches {
		s.next = append(s.next, s.grow(&s.branches[i], r))
	}
	s.live, s.next = s.next, s.live
}

// grow returns a hypothesis as it is after a branch.
func (s *search) grow(b *branch, r *reading) hypothesis {
	w := s.live[b.from]
	w.log = b.log
	if b.kind != Fine {
		f := &fault{kind: b.kind, take: r.take, voice: b.voice, steps: b.steps, before: w.faults}
		if b.steps != 0 {
			f.voice = -1
		}
		w.faults, w.offset = f, w.offset+b.steps
		if f.aside() {
			w.log += w.asideSlope(r)
			return w
		}
	}
	switch b.kind {
	case FallChanged:
		w.learn(r.Voice, func(b *block) { b.blur(iD, changedMS) })
	case PinMoved:
		w.learn(r.Voice, func(b *block) { b.blur(iA, movedBeats) })
	}
	setting := r.at.Setting + w.offset
	lag, variance := gradient(r.PeriodMS, setting, r.at.Came), r.by(&w)
	w.observe(r.Voice, lag, b.lag, variance)
	if r.SlopeSD > 0 {
		slope, y, left := r.whitened(lag, slopeRow(setting, r.at.Came), b.lag, variance)
		p := w.predict(r.Voice, slope)
		w.log += logNormal(y-p.mean, w.variance(&p)+left)
		w.observe(r.Voice, slope, y, left)
	}
	return w
}

// asideSlope is the logarithm of how likely the slope of a reading is that is set aside: as
// often as not it is the law's, as where all hits are late alike, and else any.
func (h *hypothesis) asideSlope(r *reading) float64 {
	if !(r.SlopeSD > 0) {
		return 0
	}
	p := h.predict(r.Voice, slopeRow(r.at.Setting+h.offset, r.at.Came))
	miss := r.Slope - p.mean
	if r.WrapMS > 0 {
		miss = math.Remainder(miss, r.WrapMS/r.PeriodMS)
	}
	return math.Log((math.Exp(logNormal(miss, h.variance(&p)+square(r.SlopeSD))) + r.PeriodMS/badSpreadMS) / 2)
}

// whitened returns the row, the value and the variance of the slope less what the lag's
// error, of some variance, tells of it: an observation whose error has nothing to do with
// the lag's. So it is no matter at which period the lag was read.
func (r *reading) whitened(lag, slope row, lagMS, variance float64) (g row, y, left float64) {
	variance = math.Max(variance, square(r.ScatterMS)+square(r.OtherMS)) // a scatter borrowed from other takes may be less
	share := r.SlopeCov / variance
	for i := range slope {
		slope[i] -= share * lag[i]
	}
	y = r.Slope + (lagMS-r.LagMS)/r.PeriodMS - share*lagMS // whole beats grow with the period too
	return slope, y, square(r.SlopeSD) * math.Max(1-share*r.SlopeCov/square(r.SlopeSD), 1e-6)
}
