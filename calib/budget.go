package calib

import "math"

// Budget is what the uncertainty of a lag is made of. Every term is a standard
// uncertainty in ms (JCGM 100:2008, 2.3.1).
type Budget struct {
	ScatterMS  float64 `json:"scatter_ms"`  // of the mean, from the scatter from hit to hit
	CrankMS    float64 `json:"crank_ms"`    // the hits fell where the crank was not at its mean tempo
	BeginsMS   float64 `json:"begins_ms"`   // where the strike begins: unlike sounds are not picked at the same point of their rise
	SkewMS     float64 `json:"skew_ms"`     // one channel is sampled later than the other
	ClockMS    float64 `json:"clock_ms"`    // the recorder's sample rate is not what it says
	ScatterDOF float64 `json:"scatter_dof"` // degrees of freedom of ScatterMS
}

// Sources of uncertainty that no take shows.
const (
	clockShare = 100e-6 // of a lag: recorders' clocks keep within this (common practice, no published source)
	skewFrames = 1.0    // channels of one converter differ by at most this many samples (common practice, no published source)
)

// Widen returns the reading with what scatter does not show added to its budget
// and interval: the standard uncertainty beginsMS of telling two unlike sounds'
// beginnings apart, and what a recorder at a rate in Hz adds. The interval is
// Student's at the effective degrees of freedom (JCGM 100:2008, G.4.1).
func (r Reading) Widen(beginsMS, rateHz float64) Reading {
	return r.widened(beginsMS, 1000*skewFrames/rateHz/math.Sqrt(3))
}

// WidenAs returns the reading with what was added to that of the whole recording, of some
// of whose hits it is. Fewer than two pairs have no interval.
func (r Reading) WidenAs(whole Reading) Reading {
	if r.Used() < 2 {
		return r
	}
	return r.widened(whole.Budget.BeginsMS, whole.Budget.SkewMS)
}

func (r Reading) widened(beginsMS, skewMS float64) Reading {
	b := r.Budget
	b.BeginsMS, b.SkewMS = beginsMS, skewMS
	b.ClockMS = clockShare * math.Abs(r.LagMS) / math.Sqrt(3)
	r.Budget = b
	r.Law = r.Law.shared(square(b.BeginsMS) + square(b.SkewMS))
	return r.withInterval()
}

// CombinedMS returns all terms together: the root of the sum of their squares (5.1.2).
func (b Budget) CombinedMS() float64 {
	return math.Sqrt(square(b.ScatterMS) + square(b.CrankMS) + square(b.BeginsMS) + square(b.SkewMS) + square(b.ClockMS))
}

// DOF returns the effective degrees of freedom of CombinedMS (Welch and Satterthwaite; G.4.1). All
// terms but the scatter are known as well as they ever will be: only that has few.
func (b Budget) DOF() float64 {
	if !(b.ScatterMS > 0) {
		return b.ScatterDOF
	}
	return b.ScatterDOF * square(square(b.CombinedMS()/b.ScatterMS))
}

func square(x float64) float64 { return x * x }

// withInterval sets the interval from the budget.
func (r Reading) withInterval() Reading {
	half := 0.0
	if b := r.Budget; b.ScatterDOF > 0 {
		half = Student975(math.Min(b.DOF(), manyDOF)) * b.CombinedMS()
	}
	r.LagCI95MS = [2]float64{r.LagMS - half, r.LagMS + half}
	return r
}

// manyDOF is as good as infinitely many.
const manyDOF = 1e5
