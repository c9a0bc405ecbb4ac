package calib

import "math"

// A plate's numbers are doubted where readings at two settings or more fit much
// worse with its step than with one of their own, and that is well known.
const (
	doubtPlate   = 25   // chi-squared that their own step must save
	otherStep    = 0.05 // share by which it must differ
	plateCouldBe = 1.0 / 3
)

// Understand is Explain with the step set free where the readings contradict the
// plate's numbers, and says whether they do: a miscounted rim or a mistaken gearing
// would otherwise bend everything that follows.
func Understand(points []Point, prior Prior) (ways []Explanation, doubted bool, err error) {
	return newUnderstanding(points, prior).ways()
}

// understanding is what Understand says, to which readings can be added.
type understanding struct {
	step     Belief
	believed *search
	own      *search // with a step of their own; nil where the plate's is not sure, or cannot be told
	err      error   // of the readings so far
}

func newUnderstanding(points []Point, prior Prior) *understanding {
	u := &understanding{step: prior.Step, believed: newSearch(prior), err: ErrNoPoints}
	if prior.Step.SD == 0 {
		prior.Step.SD = plateCouldBe * prior.Step.Mean
		u.own = newSearch(prior)
	}
	for _, p := range points {
		u.add(p)
	}
	return u
}

// add adds a reading, the next in time.
func (u *understanding) add(p Point) {
	if u.err == nil || u.err == ErrNoPoints {
		u.err = u.believed.add(p)
	}
	if u.own != nil && u.own.add(p) != nil {
		u.own = nil
	}
}

// ways returns what Understand does.
func (u *understanding) ways() (ways []Explanation, doubted bool, err error) {
	if u.err != nil {
		return nil, false, u.err
	}
	believed := u.believed.explanations()
	if u.own == nil {
		return believed, false, nil
	}
	own := u.own.explanations()
	law := own[0].Law
	saved := leastChi(believed) - leastChi(own)
	differs := math.Abs(law.StepBeats/u.step.Mean - 1)
	if !law.StepKnown() || saved < doubtPlate*law.excess() || differs < otherStep {
		return believed, false, nil
	}
	return own, true, nil
}

// leastChi returns the smallest chi-squared of explanations.
func leastChi(ways []Explanation) float64 {
	least := math.Inf(1)
	for _, e := range ways {
		least = math.Min(least, e.Law.ChiSquared)
	}
	return least
}
