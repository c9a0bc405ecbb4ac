package calib

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Drift is what a take shows of the law by itself where the crank's tempo
// drifted: a voice's lag grows with the beat period by A − f·s beats.
type Drift struct {
	PeriodMS float64 // mean beat period at the used hits; 0 = the reference is too short to tell
	Slope    float64 // growth of the lag with the period, in beats
	SlopeSD  float64 // its standard uncertainty; 0 = the take is too steady to tell
}

// leastDrift is the spread of the period, as a share of it, below which a take
// counts as steady: an uneven crank looks like as much.
const leastDrift = 0.01

// Drift returns the mean period at the used hits, each at its own local period,
// and the slope of their lags by it. The local period is that of a steady drift:
// unevenness within a turn takes no part, because it comes and goes between a
// hit's release and its beat.
func (r Reading) Drift() Drift {
	hits, ok := numbered(r.ReferenceHitsS, r.ReferencePeriodMS)
	if !ok || !(r.TempoBPM > 0) {
		return Drift{}
	}
	perBeat := PeriodMS(r.TempoBPM) / r.ReferencePeriodMS
	room := func(n int) []float64 { return make([]float64, 0, n) }
	numbers, periods, weights := room(len(hits.atS)), room(len(hits.atS)), room(len(hits.atS)) // missing hits share the time between those around them
	for i, last := range hits.numbers[1:] {
		first := hits.numbers[i]
		numbers, weights = append(numbers, (first+last)/2), append(weights, last-first)
		periods = append(periods, 1000*perBeat*(hits.atS[i+1]-hits.atS[i])/(last-first))
	}
	start, growth := stat.LinearRegression(numbers, periods, weights, false)
	x, y := room(len(r.Pairs)), room(len(r.Pairs))
	for _, p := range r.Pairs {
		if n, ok := hits.number(p.ReferenceS); ok && p.Used {
			x, y = append(x, start+growth*n), append(y, p.LagMS)
		}
	}
	return slope(x, y)
}

// slope fits lags to periods.
func slope(x, y []float64) Drift {
	if len(x) == 0 {
		return Drift{}
	}
	d := Drift{PeriodMS: stat.Mean(x, nil)}
	if len(x) < 4 || stat.StdDev(x, nil) < leastDrift*d.PeriodMS {
		return d
	}
	a, b := stat.LinearRegression(x, y, nil, false)
	var left float64
	for i := range x {
		left += square(y[i] - a - b*x[i])
	}
	dof := float64(len(x) - 2)
	spread := math.Sqrt(float64(len(x)-1)) * stat.StdDev(x, nil)
	d.Slope = b
	d.SlopeSD = student975(dof) / 1.96 * math.Hypot(math.Sqrt(left/dof), leastScatterMS) / spread
	return d
}

// leastScatterMS is from hit to hit the least that any gate does (common
// practice, no published source).
const leastScatterMS = 0.3
