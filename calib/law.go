package calib

import "math"

// DefaultToleranceMS is the lag that passes for striking together unless the
// builder says otherwise: listeners notice one displaced beat from about 6 ms
// on (Friberg & Sundberg 1995).
const DefaultToleranceMS = 5

// TrialSteps is the largest move on a plate whose step size is not known yet. On the
// coarsest plate believed in (usualStep and two deviations) that is a quarter of a beat,
// far from the half at which a move ahead looks like one back; on the finest, at 200 BPM,
// two takes known to 1 ms each still tell the step better than knownStep asks for.
const TrialSteps = 10

// Law is how late one voice sounds, for every tempo and setting:
//
//	lag = DelayMS + OffsetBeats·P − StepBeats·s·P
//
// with the beat period P in ms and the setting s in steps. The delay (fall,
// gate) takes the same time at every tempo; the offset (pin placement, gearing)
// and the setting are angles, so their share of the lag grows with the period.
type Law struct {
	DelayMS     float64       `json:"delay_ms"`     // D: constant delay
	OffsetBeats float64       `json:"offset_beats"` // A: fixed angle offset
	StepBeats   float64       `json:"step_beats"`   // f: step size, beats per step
	Cov         [3][3]float64 `json:"cov"`          // covariance of D, A, f in that order
}

// Lag returns the lag in ms that the law predicts at a beat period and setting,
// and the standard deviation of that prediction from the law's own uncertainty
// (JCGM 100:2008, 5.2.2, the law of propagation for correlated inputs).
func (l Law) Lag(periodMS, setting float64) (lagMS, sdMS float64) {
	g := [3]float64{1, periodMS, -setting * periodMS} // the gradient by D, A and f
	x := [3]float64{l.DelayMS, l.OffsetBeats, l.StepBeats}
	var variance float64
	for i := range g {
		lagMS += g[i] * x[i]
		for j := range g {
			variance += g[i] * l.Cov[i][j] * g[j]
		}
	}
	return lagMS, math.Sqrt(math.Max(variance, 0))
}

// Setting returns the setting in steps, not rounded, at which the voice strikes
// with the reference at the given beat period: s* = (D/P + A)/f.
func (l Law) Setting(periodMS float64) float64 {
	return (l.DelayMS/periodMS + l.OffsetBeats) / l.StepBeats
}

// knownStep is how well the step has to be known, as its relative standard
// deviation, to count moves by it.
const knownStep = 0.12

// StepKnown reports whether a step in beats is known well enough to count moves by it.
func StepKnown(step Belief) bool { return step.Mean > 0 && step.SD <= knownStep*step.Mean }

// StepMS returns by how many ms one step moves the voice at a beat period.
func (l Law) StepMS(periodMS float64) float64 { return l.StepBeats * periodMS }

// Point is a reading at one tempo, as the law sees it.
type Point struct {
	PeriodMS float64 // beat period as played
	LagMS    float64 // positive = late
	HalfMS   float64 // half the 95 % interval of LagMS by the take alone
	SDMS     float64 // standard uncertainty of LagMS among other takes
	WrapMS   float64 // LagMS is known up to whole multiples of this; 0 = it is known
}

// Belief is what is known of a parameter before any take: a mean and a standard
// deviation. SD 0 means exactly known, +Inf nothing known.
type Belief struct{ Mean, SD float64 }

// Prior is what is known of the law before any take.
type Prior struct {
	Delay  Belief // D in ms
	Offset Belief // A in beats
	Step   Belief // f in beats per step

	// Elsewhere is the chance that the plate stood just anywhere when its place was
	// called setting 0. A is then any share of a beat more, the same for all voices;
	// else Offset holds. 0 = it stood where the pins belong.
	Elsewhere float64

	// ScatterMS is by how much takes may differ from one to the next, over what each
	// states: the scale of a half-Cauchy law for the standard deviation (Gelman 2006,
	// Bayesian Analysis 1:515). 0 = each is known to differ by what it states.
	ScatterMS float64

	// CreepMS is by how much a delay may creep in a month in which felt, springs and
	// weather do their work: the scale of a half-Cauchy law, as above, for the standard
	// deviation of a random walk.
	CreepMS float64
}

// What builders usually build (common practice, no published source): drops of
// 5 cm to 1 m, pins within a few hundredths of a beat of their place, and some
// 36 to 96 steps a beat.
var (
	usualDelay  = Belief{Mean: 220, SD: 120}
	usualOffset = Belief{Mean: 0, SD: 0.03}
	usualStep   = Belief{Mean: 1.0 / 60, SD: 0.005}
)

// usualScatterMS is the scale by which takes of a usual machine scatter (common
// practice, no published source).
const usualScatterMS = 0.02

// usualCreepMS is the scale by which delays of a usual machine creep in a month (common
// practice, no published source).
const usualCreepMS = 1

// usualElsewhere is how often a plate stands anywhere at the first take (common
// practice, no published source). AnywhereBeats is so wide a standard deviation of
// where it then stands that all places within a beat are about as likely.
const (
	usualElsewhere = 0.5
	AnywhereBeats  = 1.0
)

// PlatePrior returns the prior for a machine with the given plate.
func PlatePrior(p Plate) Prior {
	prior := Prior{Delay: usualDelay, Offset: usualOffset, Step: usualStep, Elsewhere: usualElsewhere, ScatterMS: usualScatterMS, CreepMS: usualCreepMS}
	if f := p.StepBeats(); f > 0 {
		prior.Step = Belief{Mean: f}
	}
	return prior
}
