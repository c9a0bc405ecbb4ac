package plan

import "math"

// search follows hypotheses side by side through the takes.
type search struct {
	known    Knowledge
	takes    []Take
	pools    []pooled
	most     int // hypotheses to keep
	met      int // readings so far
	live     []*hypothesis
	next     []*hypothesis
	outcomes []outcome     // of a take's first reading
	spare    []*hypothesis // that were given up
	branches []branch      // the likeliest first, as many as are kept
	least    float64       // log of which a branch has to be likelier
}

// branch is one way in which a hypothesis can go on at a reading.
type branch struct {
	from, by int     // indices of the hypothesis, and of the outcome
	of       int     // the voice whose lag is read, where that is another's
	lag      float64 // of the reading, whole beats added
	log      float64 // of the hypothesis, once it has gone on
}

// add keeps a branch in mind that may be likely enough. Of equally likely ones the first
// stays first, as of two turns that are a whole beat apart the smaller.
func (s *search) add(b branch) {
	if !s.likely(b.log) {
		return
	}
	at, keep := len(s.branches), s.most
	if s.met < firstReadings {
		keep = max(keep, firstHypotheses)
	}
	for at > 0 && s.branches[at-1].log <= b.log-asLikely {
		at--
	}
	if at == keep {
		return
	}
	s.branches = append(s.branches[:min(len(s.branches), keep-1)], b)
	copy(s.branches[at+1:], s.branches[at:])
	s.branches[at] = b
	s.least = s.branches[0].log - leastLog
	if len(s.branches) == keep {
		s.least = math.Max(s.least, s.branches[len(s.branches)-1].log)
	}
}

// likely reports whether a branch so likely may be worth following.
func (s *search) likely(log float64) bool { return log > s.least }

// How many hypotheses are followed, so that all readings together take about as
// long, but more than a few at first, before the machine's model is known; and how much
// less likely than the best they may be, as a logarithm.
const (
	mostReadings    = 3000
	mostHypotheses  = 300
	leastOfThem     = 6
	firstReadings   = 50
	firstHypotheses = 40
	leastLog        = 14
)

// asLikely is by how much logarithms differ that are the same but for rounding, which is not
// alike on every processor.
const asLikely = 1e-9

// run follows the hypotheses through all takes.
func (s *search) run() {
	readings := 1
	for _, t := range s.takes {
		readings += len(t.Heard)
	}
	s.most = max(leastOfThem, min(mostHypotheses, mostReadings/readings))
	for _, m := range s.known.models(s.takes) {
		h := s.known.start(&m)
		s.live = append(s.live, &h)
	}
	first := true
	var r reading
	stood, at, advised, doubt := false, 0, 0, denied // since the last take that heard anything: a night or more, its setting, the move advised, and how far its moves are doubted
	for i, t := range s.takes {
		if t.Advised != 0 && i > 0 {
			advised = s.takes[i-1].Setting - at + t.Advised
		}
		if !first && (t.Days > 0 || len(t.Changed) > 0) {
			for n := range s.live {
				s.live[n].between(&t)
			}
		}
		if stood = stood || t.Days > 0; !t.AsTold {
			doubt = 1
		}
		if len(t.Heard) == 0 {
			continue
		}
		if doubt < 1 {
			advised = 0 // not followed, that is
		}
		s.outcomes = outcomes(s.outcomes, t.Setting-at, advised, stood, doubt, len(t.Heard), s.known.Voices)
		for j, h := range t.Heard {
			if first || j > 0 { // no move comes before it
				s.outcomes = s.outcomes[:firstMove]
				s.outcomes[asTold].log = 0
			}
			if j > 0 {
				s.outcomes[slipped].log = 0 // as it did for the first
			}
			r = reading{Observation: h, take: i, first: j == 0, at: Place{Setting: t.Setting, Came: t.Came}, told: t.Setting - at, variance: square(h.sd(s.pools[h.Voice])), outcomes: s.outcomes}
			r.most = -math.Log(math.Min(math.Sqrt(2*math.Pi*r.variance), h.PeriodMS))
			s.meet(&r)
		}
		first, stood, at, advised, doubt = false, false, t.Setting, 0, denied
	}
}

// between lets a hypothesis forget what changed between a take and the one before it:
// each delay walks at random (the local level model; Durbin and Koopman 2012, Time
// Series Analysis by State Space Methods, 2.1), and what was worked on is as good as new.
func (h *hypothesis) between(t *Take) {
	creep := math.Sqrt(h.model.creep * t.Days)
	for v := range h.voices {
		h.voices[v].blur(iD, creep)
		for _, c := range t.Changed {
			switch {
			case c.Voice != v:
			case c.Pins:
				h.voices[v].blur(iA, movedBeats)
			default:
				h.voices[v].blur(iD, changedMS)
			}
		}
	}
}

// A reading is as expected where it lies within so many standard deviations of what
// a hypothesis predicts as sharply as the take reads it. Then nobody asks what went
// wrong.
const expected = 2.4

// openWrap is how well a lag has to be foreseen, as a share of what it may be off
// by whole multiples of, before only the nearest multiple is followed.
const openWrap = 1.0 / 8

// tellsVoices is how well a lag has to be foreseen, in ms, for one that is another voice's to be
// known by it: of a tuned machine all lags are alike, so one of a voice that was just worked on
// would look like another's.
const tellsVoices = changedMS / 2

// reading is the one that the hypotheses meet next.
type reading struct {
	Observation
	take     int  // index
	first    bool // of the take
	at       Place
	told     int       // steps told of the move before it
	variance float64   // of its lag
	most     float64   // log of the highest density that any hypothesis gives it
	outcomes []outcome // what can have become of it
}

// by returns the variance of the reading's lag by a hypothesis.
func (r *reading) by(h *hypothesis) float64 { return r.variance + h.model.scatter }

// meet lets all hypotheses go on at a reading, and keeps the likeliest.
func (s *search) meet(r *reading) {
	s.branches, s.least = s.branches[:0], math.Inf(-1)
	for n := range s.live {
		s.branch(n, r)
	}
	s.keep(r)
	s.met++
}

// branch lists how a hypothesis can go on at a reading: by what has become of the
// move before it, by the whole beats that it leaves open, and by what can be wrong
// with the reading or the voice.
func (s *search) branch(n int, r *reading) {
	var p, perStep prediction
	w := s.live[n]
	w.lag(&p, r.Voice, r.PeriodMS, r.at)
	law := w.variance(&p)
	if f := w.faults; f.slippedIn(r.take) {
		s.try(n, r, slipped, p.mean+f.slip.mean, law+square(f.slip.sd))
		return
	}
	read := r.by(w)
	lag, wraps := nearest(r.LagMS, r.WrapMS, p.mean, law+read)
	if wraps == 0 && law < read/4 && square(lag-p.mean) < expected*expected*(law+read) {
		s.weigh(r, branch{from: n, by: asTold, lag: lag}, lag-p.mean, law+read)
		return
	}
	s.try(n, r, asTold, p.mean, law)
	if len(r.outcomes) > firstMove {
		w.predict(&perStep, r.Voice, &row{iF: -r.PeriodMS}) // by which a step further ahead changes the lag
		with, own := w.cov(&p, &perStep), w.variance(&perStep)
		for i := firstMove; i < len(r.outcomes); i++ {
			m := &r.outcomes[i]
			if by := float64(m.steps); s.likely(w.log + m.log + r.most) {
				s.try(n, r, i, p.mean+by*perStep.mean, law+by*(2*with+by*own))
			}
		}
	}
	if law < square(openWrap*r.PeriodMS) { // else any reading would look like a change
		s.try(n, r, fallChanged, p.mean, law+square(changedMS))
		s.try(n, r, pinMoved, p.mean, law+square(movedBeats*r.PeriodMS))
	}
	s.aside(n, r, &p)
}

// try adds what a hypothesis can go on with where a reading counts, and the lag is
// then expected with some variance.
func (s *search) try(n int, r *reading, o int, mean, law float64) {
	w := s.live[n]
	variance := law + r.by(w)
	lag, wraps := nearest(r.LagMS, r.WrapMS, mean, variance)
	if w.starting() {
		wraps = 0
	}
	for side := -wraps; side <= wraps; side++ {
		at := lag + float64(side)*r.WrapMS
		s.weigh(r, branch{from: n, by: o, lag: at}, at-mean, variance)
	}
}

// weigh adds a branch whose hypothesis expected the lag so far from where the branch takes it to
// be. While nothing is known of the start, all places within a beat are alike.
func (s *search) weigh(r *reading, b branch, missMS, variance float64) {
	w := s.live[b.from]
	b.log = w.log + r.outcomes[b.by].log
	switch {
	case !s.likely(b.log - square(missMS)/variance/2 + r.most): // spares most a logarithm
		return
	case w.starting():
		b.log -= math.Log(r.PeriodMS)
	default:
		b.log += logNormal(missMS, variance)
	}
	s.add(b)
}

// aside adds what a hypothesis can go on with where a reading does not count for the
// voice.
func (s *search) aside(n int, r *reading, p *prediction) {
	w := s.live[n]
	law, read := w.variance(p), r.by(w)
	s.try(n, r, isBad, p.mean, law+square(badMS))
	if r.SlopeSD > 0 {
		s.try(n, r, isLost, p.mean, law+square(badMS))
	}
	if r.first {
		s.try(n, r, slipped, p.mean, law+square(badMS))
	}
	lag, _ := nearest(-r.LagMS, r.WrapMS, p.mean, law+read)
	s.weigh(r, branch{from: n, by: isCrossed, lag: r.LagMS}, lag-p.mean, law+read)
	if law > square(tellsVoices) || !s.likely(w.log+r.outcomes[isWrong].log+r.most) {
		return
	}
	var o prediction
	for v := range w.voices {
		if v != r.Voice {
			w.lag(&o, v, r.PeriodMS, r.at)
			spread := w.variance(&o) + read
			lag, _ := nearest(r.LagMS, r.WrapMS, o.mean, spread)
			s.weigh(r, branch{from: n, by: isWrong, of: v, lag: r.LagMS}, lag-o.mean, spread)
		}
	}
}

// nearest returns a lag with whole beats added as lies nearest to what is expected,
// and how many either side of it are worth following.
func nearest(lagMS, wrapMS, mean, variance float64) (lag float64, wraps int) {
	if !(wrapMS > 0) {
		return lagMS, 0
	}
	if variance > square(openWrap*wrapMS) {
		wraps = 1
	}
	return lagMS + wrapMS*math.Round((mean-lagMS)/wrapMS), wraps
}

// logNormal is the logarithm of the normal density.
func logNormal(x, variance float64) float64 {
	return -(x*x/variance + math.Log(2*math.Pi*variance)) / 2
}

func square(x float64) float64 { return x * x }

// keep goes on with the likeliest branches. A hypothesis is copied for all of them but
// the last, and what is given up is room for the next.
func (s *search) keep(r *reading) {
	for !(s.branches[len(s.branches)-1].log > s.branches[0].log-leastLog) {
		s.branches = s.branches[:len(s.branches)-1]
	}
	for i := range s.branches {
		s.live[s.branches[i].from].branches++
	}
	for _, h := range s.live {
		if h.branches == 0 {
			s.spare = append(s.spare, h)
		}
	}
	s.next = s.next[:0]
	for i := range s.branches {
		b := &s.branches[i]
		h := s.live[b.from]
		if h.branches--; h.branches > 0 {
			h = s.copy(h)
		}
		if h.follow(b, r); h.model.fault == PlateWrong && h.step() < 0 {
			h.log -= leastLog // its numbers may be wrong, not its sense
		}
		s.next = append(s.next, h)
	}
	s.live, s.next = s.next, s.live
}

// copy copies a hypothesis.
func (s *search) copy(h *hypothesis) *hypothesis {
	to := &hypothesis{}
	if n := len(s.spare); n > 0 {
		to, s.spare = s.spare[n-1], s.spare[:n-1]
	}
	voices := append(to.voices[:0], h.voices...)
	*to = *h
	to.voices, to.branches = voices, 0
	return to
}

// follow takes a hypothesis along a branch.
func (w *hypothesis) follow(b *branch, r *reading) {
	w.log = b.log
	by := r.outcomes[b.by]
	if by.kind != Fine && !w.faults.slippedIn(r.take) {
		f := &fault{kind: by.kind, take: r.take, voice: r.Voice, steps: by.steps, of: b.of, told: r.told, before: w.faults}
		if f.steps != 0 || b.by == slipped {
			f.voice = -1
		}
		w.faults, w.offset = f, w.offset+f.steps
	}
	setting := r.at.Setting + w.offset
	lag, variance := gradient(r.PeriodMS, setting, r.at.Came), r.by(w)
	switch by.kind {
	case Bad:
		variance += square(badMS)
	case FallChanged:
		w.voices[r.Voice].blur(iD, changedMS)
	case PinMoved:
		w.voices[r.Voice].blur(iA, movedBeats)
	}
	if b.by != isCrossed && b.by != isWrong {
		off, all := w.observe(r.Voice, lag, b.lag, variance)
		if b.by == slipped && r.first {
			w.faults.slip = normal{off, math.Sqrt(all - square(badMS))}
		}
	}
	if b.by >= isLost && b.by <= isWrong {
		if r.SlopeSD > 0 { // which may be any
			w.log -= math.Log(math.Sqrt(2*math.Pi) * badMS / r.PeriodMS)
		}
		return
	}
	if r.SlopeSD > 0 {
		slope, y, left := r.whitened(lag, slopeRow(setting, r.at.Came), b.lag, variance)
		w.log += logNormal(w.observe(r.Voice, slope, y, left))
	}
}

// whitened returns the row, the value and the variance of the slope less what the lag's
// error, of some variance, tells of it: an observation whose error has nothing to do with
// the lag's. So it is no matter at which period the lag was read.
func (r *reading) whitened(lag, slope *row, lagMS, variance float64) (g *row, y, left float64) {
	variance = math.Max(variance, square(r.ScatterMS)+square(r.OtherMS)) // a scatter borrowed from other takes may be less
	share := r.SlopeCov / variance
	for i := range slope {
		slope[i] -= share * lag[i]
	}
	y = r.Slope + (lagMS-r.LagMS)/r.PeriodMS - share*lagMS // whole beats grow with the period too
	return slope, y, square(r.SlopeSD) * math.Max(1-share*r.SlopeCov/square(r.SlopeSD), 1e-6)
}
