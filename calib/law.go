package calib

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

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
	ChiSquared  float64       `json:"chi_squared"`  // weighted sum of squared residuals over readings and priors
	DOF         int           `json:"dof"`          // degrees of freedom of ChiSquared

	logInfo float64 // log-determinant of the information on what is free
}

// Lag returns the lag in ms that the law predicts at a beat period and setting,
// and the standard deviation of that prediction from the law's own uncertainty
// (JCGM 100:2008, 5.2.2, the law of propagation for correlated inputs).
func (l Law) Lag(periodMS, setting float64) (lagMS, sdMS float64) {
	g := design(periodMS, setting)
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

// StepKnown reports whether the step is known well enough to count moves by it.
func (l Law) StepKnown() bool {
	return l.StepBeats > 0 && math.Sqrt(l.Cov[2][2]) <= knownStep*l.StepBeats
}

// StepMS returns by how many ms one step moves the voice at a beat period.
func (l Law) StepMS(periodMS float64) float64 { return l.StepBeats * periodMS }

// design returns the gradient of the lag by D, A and f.
func design(periodMS, setting float64) [3]float64 {
	return [3]float64{1, periodMS, -setting * periodMS}
}

// Point is one reading as the law sees it.
type Point struct {
	PeriodMS float64 // beat period as played
	Setting  int     // steps, positive = ahead
	LagMS    float64 // positive = late
	SDMS     float64 // standard uncertainty of LagMS
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
}

// What builders usually build (common practice, no published source): drops of
// 5 cm to 1 m, pins within a few hundredths of a beat of their place, and some
// 36 to 96 steps a beat.
var (
	usualDelay  = Belief{Mean: 220, SD: 120}
	usualOffset = Belief{Mean: 0, SD: 0.03}
	usualStep   = Belief{Mean: 1.0 / 60, SD: 0.005}
)

// usualElsewhere is how often a plate stands anywhere at the first take (common
// practice, no published source). AnywhereBeats is so wide a standard deviation of
// where it then stands that all places within a beat are about as likely.
const (
	usualElsewhere = 0.5
	AnywhereBeats  = 1.0
)

// PlatePrior returns the prior for a machine with the given plate.
func PlatePrior(p Plate) Prior {
	prior := Prior{Delay: usualDelay, Offset: usualOffset, Step: usualStep, Elsewhere: usualElsewhere}
	if f := p.StepBeats(); f > 0 {
		prior.Step = Belief{Mean: f}
	}
	return prior
}

// Failures of Fit. Each tells which take would mend it.
var (
	// ErrNoPoints: there is no reading to fit.
	ErrNoPoints = errors.New("there is no reading yet: record a take")
	// ErrUndetermined: the readings leave a combination of D, A and f open.
	ErrUndetermined = errors.New("the readings cannot tell step size and delay apart: record a take at another setting, and one at another tempo")
	// ErrBadPoint: a reading or prior is not a finite number with a positive period.
	ErrBadPoint = errors.New("a reading has no finite lag, period or uncertainty: leave that take out")
)

// Fit returns the law that fits the points best in the sense of weighted least
// squares, each belief of the prior being one more observation. Weights are
// 1/SDMS², and the covariance is that of known uncertainties (ISO/TS 28037:2010,
// 6). Where every SDMS is zero all points weigh the same and the covariance is
// scaled by the residuals (JCGM 100:2008, H.3). LagMS is taken as it is; Explain
// resolves whole beats. It returns ErrNoPoints, ErrBadPoint or ErrUndetermined
// where there is no such law.
func Fit(points []Point, prior Prior) (Law, error) {
	if len(points) == 0 {
		return Law{}, ErrNoPoints
	}
	sys := newSystem(prior)
	scaled := true // no uncertainties given: take them from the residuals
	for _, p := range points {
		scaled = scaled && p.SDMS == 0
	}
	for _, p := range points {
		sd := p.SDMS
		if scaled {
			sd = 1
		}
		if p.PeriodMS == 0 || !(sd > 0) || !finite(p.PeriodMS, p.LagMS, sd) {
			return Law{}, ErrBadPoint
		}
		sys.observe(design(p.PeriodMS, float64(p.Setting)), p.LagMS, sd)
	}
	for i, b := range prior.beliefs() {
		if b.SD > 0 && !math.IsInf(b.SD, 1) {
			var unit [3]float64
			unit[i] = 1
			sys.observe(unit, b.Mean, b.SD)
		}
	}
	return sys.solve(scaled)
}

func (p Prior) beliefs() [3]Belief { return [3]Belief{p.Delay, p.Offset, p.Step} }

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// system gathers weighted observations of the parameters that are free; the
// known ones are moved to the right-hand side.
type system struct {
	known [3]float64 // values of the parameters that are not free
	free  []int      // indices of the free parameters
	rows  []float64  // design rows over the free parameters, weighted
	rhs   []float64
}

func newSystem(prior Prior) *system {
	s := &system{}
	for i, b := range prior.beliefs() {
		if b.SD == 0 {
			s.known[i] = b.Mean
		} else {
			s.free = append(s.free, i)
		}
	}
	return s
}

func (s *system) observe(g [3]float64, y, sd float64) {
	for i, k := range s.known {
		y -= g[i] * k
	}
	for _, i := range s.free {
		s.rows = append(s.rows, g[i]/sd)
	}
	s.rhs = append(s.rhs, y/sd)
}

// worstCondition is the condition number of the column-scaled system beyond
// which two parameters count as not told apart.
const worstCondition = 1e9

func (s *system) solve(scaled bool) (Law, error) {
	n, k := len(s.rhs), len(s.free)
	if n < k || k == 0 {
		return Law{}, ErrUndetermined
	}
	a := mat.NewDense(n, k, s.rows)
	scale := make([]float64, k) // unit columns, so that the condition means something
	for j := range scale {
		scale[j] = mat.Norm(a.ColView(j), 2)
		if scale[j] == 0 {
			return Law{}, ErrUndetermined
		}
	}
	a.Apply(func(_, j int, v float64) float64 { return v / scale[j] }, a)

	var qr mat.QR
	qr.Factorize(a)
	if !(qr.Cond() < worstCondition) {
		return Law{}, ErrUndetermined
	}
	b := mat.NewVecDense(n, s.rhs)
	var x, residual mat.VecDense
	if err := qr.SolveVecTo(&x, false, b); err != nil {
		return Law{}, ErrUndetermined
	}
	residual.MulVec(a, &x)
	residual.SubVec(b, &residual)

	law := Law{ChiSquared: mat.Dot(&residual, &residual), DOF: n - k}
	cov, err := covariance(&qr, k)
	if err != nil {
		return Law{}, ErrUndetermined
	}
	factor := 1.0
	if scaled && law.DOF > 0 {
		factor = law.ChiSquared / float64(law.DOF)
	}
	values := s.known
	var r mat.Dense
	qr.RTo(&r)
	for i, p := range s.free {
		values[p] = x.AtVec(i) / scale[i]
		law.logInfo += 2 * math.Log(math.Abs(r.At(i, i))*scale[i])
		for j, q := range s.free {
			law.Cov[p][q] = factor * cov.At(i, j) / (scale[i] * scale[j])
		}
	}
	law.DelayMS, law.OffsetBeats, law.StepBeats = values[0], values[1], values[2]
	return law, nil
}

// covariance returns (AᵀA)⁻¹ from A's factor R, without forming AᵀA, which
// would square its condition.
func covariance(qr *mat.QR, k int) (*mat.Dense, error) {
	var r mat.Dense
	qr.RTo(&r)
	tri := mat.NewTriDense(k, mat.Upper, nil)
	for i := range k {
		for j := i; j < k; j++ {
			tri.SetTri(i, j, r.At(i, j))
		}
	}
	var inv mat.TriDense
	if err := inv.InverseTri(tri); err != nil {
		return nil, err
	}
	var cov mat.Dense
	cov.Mul(&inv, inv.T())
	return &cov, nil
}
