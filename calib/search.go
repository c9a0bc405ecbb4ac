package calib

import (
	"math"
	"slices"
)

// keepExplanations is how many explanations are followed side by side.
const keepExplanations = 12

// clearlyWorse is by how much an explanation's doubt must exceed another's, in
// units of the scatter, before it is given up: a chance of about one in a hundred.
const clearlyWorse = 9

// search follows explanations side by side while readings join. What they know of
// the law differs by their start and their lags only: the information is one for
// all of the same start, so that a whole beat tried costs a few multiplications.
type search struct {
	starts []start
	live   []way   // the likeliest first
	points []Point // as they came
	delay  Belief  // what is usual
	alike  bool    // none has an uncertainty, all weigh the same
}

// start is where the plate may have stood at setting 0, and the information that
// all explanations with it share.
type start struct {
	info      root
	inv       [3][3]float64
	elsewhere bool
	charge    float64 // see Prior.charge
	entry     entry   // of the latest reading
	log       float64 // log-determinant of info
	failure   error   // of its law
}

// way is an explanation as it grows, one link a reading.
type way struct {
	sums
	start  int
	lagMS  float64    // of the latest reading, whole beats added
	doubt  float64    // −2 log of the evidence, but for what all share
	x      [3]float64 // D, A and f by it
	before *way
}

func newSearch(prior Prior) *search {
	s := &search{delay: prior.Delay}
	for _, elsewhere := range []bool{false, true} {
		if elsewhere && (!(prior.Elsewhere > 0) || math.IsInf(prior.Offset.SD, 1)) {
			continue
		}
		info, sums := newRoot(prior.at(elsewhere))
		s.live = append(s.live, way{sums: sums, start: len(s.starts), x: info.mean})
		s.starts = append(s.starts, start{info: info, elsewhere: elsewhere, charge: prior.charge(elsewhere)})
	}
	return s
}

// add lets every explanation grow by a reading, in each way that its whole beats
// may be, and keeps the likeliest. It returns the errors of Fit.
func (s *search) add(p Point) error {
	if len(s.points) == 0 {
		s.alike = p.SDMS == 0
	}
	s.points = append(s.points, p)
	if s.alike && p.SDMS == 0 {
		p.SDMS = 1
	} else if s.alike {
		return ErrBadPoint
	}
	if !p.sound() || math.IsInf(p.WrapMS, 0) {
		return ErrBadPoint
	}
	for i := range s.starts {
		s.starts[i].join(p)
	}
	next := make(likeliest, 0, keepExplanations)
	for i := range s.live {
		before := &s.live[i]
		start := &s.starts[before.start]
		if start.failure != nil {
			continue
		}
		lags, n := before.candidates(p, start.elsewhere)
		for _, lag := range lags[:n] {
			sums := before.sums
			start.entry.take(&sums, lag)
			if doubt := sums.chi + start.log + start.charge; next.hasRoom(doubt) {
				next.keep(way{sums: sums, start: before.start, lagMS: lag, doubt: doubt, before: before})
			}
		}
	}
	if len(next) == 0 {
		return s.starts[len(s.starts)-1].failure
	}
	s.live = next
	for i := range s.live {
		w := &s.live[i]
		start := &s.starts[w.start]
		w.x = start.info.solve(&start.inv, &w.sums)
	}
	s.forbid()
	return nil
}

// noSuchDelay is how far a delay may lie from what is usual, in the prior's standard
// deviations: beyond it the voice strikes long before it falls, or falls for metres.
// At evenly spaced tempos whole beats and such a delay look just like a good law, and
// a move told wrong costs that one as much.
const noSuchDelay = 6

// forbid gives up ways whose delay no machine has, as long as others are left.
func (s *search) forbid() {
	usual := s.delay
	if !(usual.SD > 0) || math.IsInf(usual.SD, 1) {
		return
	}
	possible := slices.DeleteFunc(slices.Clone(s.live), func(w way) bool { return math.Abs(w.x[0]-usual.Mean) > noSuchDelay*usual.SD })
	if len(possible) > 0 {
		s.live = possible
	}
}

// join adds a reading to the information.
func (s *start) join(p Point) {
	s.entry = s.info.join(p)
	var ok bool
	if s.inv, ok = s.info.inverse(); !ok {
		s.failure = ErrUndetermined
		return
	}
	s.log = s.info.log()
}

// candidates returns the lags that a reading may stand for: the whole multiple
// that lies nearest to what the law expects, and its neighbours.
func (w *way) candidates(p Point, elsewhere bool) (lags [3]float64, n int) {
	if !(p.WrapMS > 0) {
		return [3]float64{p.LagMS}, 1
	}
	g := design(p.PeriodMS, float64(p.Setting))
	expected := g[0]*w.x[0] + g[1]*w.x[1] + g[2]*w.x[2]
	nearest := p.LagMS + p.WrapMS*math.Round((expected-p.LagMS)/p.WrapMS)
	lags = [3]float64{nearest, nearest - p.WrapMS, nearest + p.WrapMS}
	if elsewhere && w.before == nil {
		return lags, 1
	}
	return lags, 3
}

// likeliest holds the likeliest ways, in order; of two that are as likely the one
// that was kept first comes first.
type likeliest []way

// hasRoom reports whether a way of that doubt belongs to them.
func (l likeliest) hasRoom(doubt float64) bool {
	return len(l) < keepExplanations || doubt < l[len(l)-1].doubt
}

func (l *likeliest) keep(w way) {
	at := len(*l)
	for at > 0 && w.doubt < (*l)[at-1].doubt {
		at--
	}
	if len(*l) < keepExplanations {
		*l = append(*l, way{})
	}
	copy((*l)[at+1:], (*l)[at:])
	(*l)[at] = w
}

// explanations returns those that are not clearly worse than the best, the best
// first. Covariances are widened by the Birge ratio, the excess of the scatter over
// the stated uncertainties.
func (s *search) explanations() []Explanation {
	best := &s.live[0]
	excess := s.explanation(best).Law.excess()
	var kept []Explanation
	var sum float64
	for i := range s.live {
		w := &s.live[i]
		if w.doubt > best.doubt+clearlyWorse*excess {
			break
		}
		e := s.explanation(w)
		e.Points = w.points(s.points)
		e.Chance = math.Exp((best.doubt - w.doubt) / (2 * excess))
		if s.alike {
			e.Law.scaleByResiduals()
		}
		e.Law.widen(e.Law.excess())
		sum += e.Chance
		kept = append(kept, e)
	}
	for i := range kept {
		kept[i].Chance /= sum
	}
	return kept
}

// explanation returns a way in words that others know, without its points.
func (s *search) explanation(w *way) Explanation {
	start := &s.starts[w.start]
	return Explanation{Law: start.info.law(start.inv, w.sums), Elsewhere: start.elsewhere}
}

// points returns the points with the way's whole beats added.
func (w *way) points(points []Point) []Point {
	own := append([]Point(nil), points...)
	for i := len(own) - 1; i >= 0; i-- {
		own[i].LagMS, w = w.lagMS, w.before
	}
	return own
}
