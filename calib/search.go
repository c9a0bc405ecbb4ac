package calib

import "math"

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
	live   []way // the likeliest first
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
	s := &search{}
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
	if !p.sound() || math.IsInf(p.WrapMS, 0) {
		return ErrBadPoint
	}
	for i := range s.starts {
		s.starts[i].join(p)
	}
	var next likeliest
	for i := range s.live {
		before := &s.live[i]
		start := &s.starts[before.start]
		if start.failure != nil {
			continue
		}
		lags, n := before.candidates(p, start.elsewhere)
		for _, lag := range lags[:n] {
			grown := way{sums: before.sums, start: before.start, lagMS: lag, before: before}
			start.entry.take(&grown.sums, lag)
			grown.doubt = grown.chi + start.log + start.charge
			next.offer(&grown)
		}
	}
	if next.n == 0 {
		return s.starts[len(s.starts)-1].failure
	}
	s.live = append([]way(nil), next.ways[:next.n]...)
	for i := range s.live {
		w := &s.live[i]
		start := &s.starts[w.start]
		w.x = start.info.solve(&start.inv, &w.sums)
	}
	return nil
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

// likeliest keeps the likeliest of all that it is offered, in order; of two that are
// as likely the one that was offered first comes first.
type likeliest struct {
	ways [keepExplanations]way
	n    int
}

func (l *likeliest) offer(w *way) {
	at := l.n
	for at > 0 && w.doubt < l.ways[at-1].doubt {
		at--
	}
	if at == len(l.ways) {
		return
	}
	l.n = min(l.n+1, len(l.ways))
	copy(l.ways[at+1:l.n], l.ways[at:l.n-1])
	l.ways[at] = *w
}

// plausible returns the explanations that are not clearly worse than the first,
// with their chances.
func (s *search) plausible(points []Point) []Explanation {
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
		e.Points = w.points(points)
		e.Chance = math.Exp((best.doubt - w.doubt) / (2 * excess))
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
