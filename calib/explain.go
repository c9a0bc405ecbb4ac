package calib

import (
	"cmp"
	"math"
	"slices"
)

// Explanation is one way to understand a voice's readings: where the plate stood
// at setting 0, which whole beats to add to each of them, and the law that follows.
type Explanation struct {
	Law       Law     // Cov is widened where the readings scatter more than their uncertainties say
	Points    []Point // the readings, whole beats added
	Elsewhere bool    // setting 0 is just where the plate stood, not where the pins belong
	Chance    float64 // of this explanation, all that Explain returns making 1

	doubt float64 // −2 log of the evidence, but for what all explanations share
}

// clearlyWorse is by how much an explanation's doubt must exceed another's, in
// units of the scatter, before it is given up: a chance of about one in a hundred.
const clearlyWorse = 9

// keepExplanations is how many explanations are followed side by side.
const keepExplanations = 12

// Explain returns the explanations of a voice's readings, oldest first in points,
// that are not clearly worse than the best; the best comes first. One reading
// cannot tell a voice 0.6 beat late from one 0.4 beat early; readings at two
// tempos can, and so can the prior: what falls is late. Where the plate stood
// anywhere at setting 0, nothing tells the whole beat of the first reading, and it
// is no matter; see BeatOpen for the others. It returns the errors of Fit.
func Explain(points []Point, prior Prior) ([]Explanation, error) {
	if len(points) == 0 {
		return nil, ErrNoPoints
	}
	live := prior.starts()
	for _, p := range points {
		var next []Explanation
		var failure error
		for _, e := range live {
			for _, lag := range e.candidates(p) {
				q := p
				q.LagMS = lag
				grown := Explanation{Points: append(slices.Clip(e.Points), q), Elsewhere: e.Elsewhere}
				if grown.Law, failure = Fit(grown.Points, prior.at(e.Elsewhere)); failure == nil {
					grown.doubt = prior.doubt(&grown)
					next = append(next, grown)
				}
			}
		}
		if len(next) == 0 {
			return nil, failure
		}
		slices.SortStableFunc(next, func(a, b Explanation) int { return cmp.Compare(a.doubt, b.doubt) })
		live = next[:min(len(next), keepExplanations)]
	}
	return plausible(live), nil
}

// starts lists what may be before any reading.
func (prior Prior) starts() []Explanation {
	e := Explanation{Law: Law{DelayMS: prior.Delay.Mean, OffsetBeats: prior.Offset.Mean, StepBeats: prior.Step.Mean}}
	all := []Explanation{e}
	if e.Elsewhere = true; prior.Elsewhere > 0 && !math.IsInf(prior.Offset.SD, 1) {
		all = append(all, e)
	}
	return all
}

// at returns the prior for a plate that stood elsewhere, or not.
func (prior Prior) at(elsewhere bool) Prior {
	if elsewhere {
		prior.Offset.SD = math.Hypot(prior.Offset.SD, AnywhereBeats)
	}
	return prior
}

// doubt returns −2 log of the evidence of an explanation, less what all of the same
// readings share: chi-squared, the determinants that charge a wide prior for what
// it could have explained besides, and how likely it is before any reading. The
// place of a plate that stood elsewhere counts within one beat only.
func (prior Prior) doubt(e *Explanation) float64 {
	p := prior.at(e.Elsewhere)
	doubt := e.Law.ChiSquared + e.Law.logInfo
	for _, b := range p.beliefs() {
		if b.SD > 0 && !math.IsInf(b.SD, 1) {
			doubt += 2 * math.Log(b.SD)
		}
	}
	if e.Elsewhere {
		return doubt - 2*math.Log(prior.Elsewhere*AnywhereBeats*math.Sqrt(2*math.Pi))
	}
	return doubt - 2*math.Log1p(-prior.Elsewhere)
}

// growth returns by how much chi-squared grows when a point joins.
func (e Explanation) growth(p Point) float64 {
	expected, sd := e.Law.Lag(p.PeriodMS, float64(p.Setting))
	miss := p.LagMS - expected
	if p.WrapMS > 0 {
		miss -= p.WrapMS * math.Round(miss/p.WrapMS)
	}
	return miss * miss / (p.SDMS*p.SDMS + sd*sd/e.Law.excess())
}

// leastChi returns the smallest chi-squared of explanations.
func leastChi(ways []Explanation) float64 {
	least := math.Inf(1)
	for _, e := range ways {
		least = math.Min(least, e.Law.ChiSquared)
	}
	return least
}

// beatChance is from which chance on a whole beat is worth a word.
const beatChance = 0.01

// BeatOpen reports whether a whole beat of a reading is still open: whether there
// are explanations, likely enough, that differ in it from a likelier one.
func BeatOpen(ways []Explanation) bool {
	var chance float64
	for i, e := range ways {
		if slices.ContainsFunc(ways[:i], func(likelier Explanation) bool { return !e.sameBeats(likelier) }) {
			chance += e.Chance
		}
	}
	return chance > beatChance
}

// sameBeats reports whether two explanations have the same whole beats. A shift of
// all readings alike is none where the plate stood elsewhere: nothing tells it, and
// nobody hears it.
func (e Explanation) sameBeats(o Explanation) bool {
	first, any := 0.0, e.Elsewhere || o.Elsewhere
	for i, p := range e.Points {
		if !(p.WrapMS > 0) {
			continue
		}
		beats := math.Round((p.LagMS - o.Points[i].LagMS) / p.WrapMS)
		if i == 0 && any {
			first = beats
		}
		if beats != first {
			return false
		}
	}
	return true
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
	saved := leastChi(believed) - leastChi(own)
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
	if e.Elsewhere && len(e.Points) == 0 {
		return []float64{nearest}
	}
	return []float64{nearest, nearest - p.WrapMS, nearest + p.WrapMS}
}

// plausible drops the explanations that are clearly worse than the first, weighs
// the others, and widens the covariances by the Birge ratio, the excess of the
// scatter over the stated uncertainties.
func plausible(sorted []Explanation) []Explanation {
	best := sorted[0]
	excess := best.Law.excess()
	var kept []Explanation
	var sum float64
	for _, e := range sorted {
		if e.doubt <= best.doubt+clearlyWorse*excess {
			e.Chance = math.Exp((best.doubt - e.doubt) / (2 * excess))
			sum += e.Chance
			e.Law.widen(e.Law.excess())
			kept = append(kept, e)
		}
	}
	for i := range kept {
		kept[i].Chance /= sum
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
