package calib

import (
	"cmp"
	"math"
	"slices"
)

// Explanation is one way to understand a voice's readings: which whole beats to
// add to each of them, and the law that follows.
type Explanation struct {
	Law    Law     // Cov is widened where the readings scatter more than their uncertainties say
	Points []Point // the readings, whole beats added
}

// clearlyWorse is by how much an explanation's chi-squared must exceed another's,
// in units of the scatter, before it is given up.
const clearlyWorse = 9

// keepExplanations is how many explanations are followed side by side.
const keepExplanations = 8

// Explain returns the explanations of a voice's readings, oldest first in points,
// that are not clearly worse than the best; the best comes first. One reading
// cannot tell a voice 0.6 beat late from one 0.4 beat early; readings at two
// tempos can, and so can the prior: what falls is late. More than one
// explanation means that a whole beat is still open. It returns the errors of
// Fit.
func Explain(points []Point, prior Prior) ([]Explanation, error) {
	if len(points) == 0 {
		return nil, ErrNoPoints
	}
	live := []Explanation{{Law: Law{DelayMS: prior.Delay.Mean, OffsetBeats: prior.Offset.Mean, StepBeats: prior.Step.Mean}}}
	for _, p := range points {
		var next []Explanation
		var failure error
		for _, e := range live {
			for _, lag := range e.candidates(p) {
				q := p
				q.LagMS = lag
				grown := Explanation{Points: append(slices.Clip(e.Points), q)}
				if grown.Law, failure = Fit(grown.Points, prior); failure == nil {
					next = append(next, grown)
				}
			}
		}
		if len(next) == 0 {
			return nil, failure
		}
		slices.SortStableFunc(next, func(a, b Explanation) int { return cmp.Compare(a.Law.ChiSquared, b.Law.ChiSquared) })
		live = next[:min(len(next), keepExplanations)]
	}
	return plausible(live), nil
}

// A plate's numbers are doubted where readings at two settings or more fit much
// worse with its step than with one of their own, and that is well known.
const (
	doubtPlate   = 25   // chi-squared that their own step must save
	otherStep    = 0.05 // share by which it must differ
	plateCouldBe = 1.0 / 3
)

// Doubt returns the prior with the step set free where the readings contradict
// the plate's numbers, and whether they do: a miscounted rim or a mistaken
// gearing would otherwise bend everything that follows.
func (prior Prior) Doubt(points []Point) (Prior, bool) {
	if prior.Step.SD > 0 {
		return prior, false
	}
	believed, err := Explain(points, prior)
	if err != nil {
		return prior, false
	}
	open := prior
	open.Step.SD = plateCouldBe * prior.Step.Mean
	own, err := Explain(points, open)
	if err != nil || !own[0].Law.StepKnown() {
		return prior, false
	}
	saved := believed[0].Law.ChiSquared - own[0].Law.ChiSquared
	differs := math.Abs(own[0].Law.StepBeats/prior.Step.Mean - 1)
	if saved < doubtPlate*own[0].Law.excess() || differs < otherStep {
		return prior, false
	}
	return open, true
}

// candidates returns the lags that a reading may stand for: the whole multiple
// that lies nearest to what the law expects, and its neighbours.
func (e Explanation) candidates(p Point) []float64 {
	if !(p.WrapMS > 0) {
		return []float64{p.LagMS}
	}
	expected, _ := e.Law.Lag(p.PeriodMS, float64(p.Setting))
	nearest := p.LagMS + p.WrapMS*math.Round((expected-p.LagMS)/p.WrapMS)
	return []float64{nearest, nearest - p.WrapMS, nearest + p.WrapMS}
}

// plausible drops the explanations that are clearly worse than the first and
// widens the covariances by the Birge ratio, the excess of the scatter over the
// stated uncertainties.
func plausible(sorted []Explanation) []Explanation {
	best := sorted[0].Law
	limit := best.ChiSquared + clearlyWorse*best.excess()
	var kept []Explanation
	for _, e := range sorted {
		if e.Law.ChiSquared <= limit {
			e.Law.widen(e.Law.excess())
			kept = append(kept, e)
		}
	}
	return kept
}

// excess returns chi-squared over its degrees of freedom, at least 1; one reading
// alone has no scatter.
func (l Law) excess() float64 {
	if l.DOF < 2 {
		return 1
	}
	return math.Max(1, l.ChiSquared/float64(l.DOF))
}

func (l *Law) widen(factor float64) {
	for i := range l.Cov {
		for j := range l.Cov[i] {
			l.Cov[i][j] *= factor
		}
	}
}
