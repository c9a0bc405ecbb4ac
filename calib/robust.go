package calib

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// madScale makes the median absolute deviation estimate a normal standard
// deviation: 1/Φ⁻¹(3/4) (Hampel 1974; R's mad uses the same, rounded to 1.4826).
const madScale = 1.482602218505602

// median returns the middle of xs, the mean of the two middle values where
// their number is even. It panics on an empty slice.
func median(xs []float64) float64 {
	s := slices.Sorted(slices.Values(xs))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// mad returns the median absolute deviation of xs from their median, unscaled.
func mad(xs []float64) float64 {
	m := median(xs)
	dev := make([]float64, len(xs))
	for i, x := range xs {
		dev[i] = math.Abs(x - m)
	}
	return median(dev)
}

// lag1 returns the lag-1 autocorrelation of xs as NIST StRD certifies it:
// Σ(xᵢ−x̄)(xᵢ₊₁−x̄) / Σ(xᵢ−x̄)²; 0 for a constant series.
func lag1(xs []float64) float64 {
	mean := stat.Mean(xs, nil)
	var num, den float64
	for i, x := range xs {
		den += (x - mean) * (x - mean)
		if i > 0 {
			num += (xs[i-1] - mean) * (x - mean)
		}
	}
	if den == 0 {
		return 0
	}
	return num / den
}

// enoughForCorrelation is the number of hits below which a sample's lag-1
// autocorrelation says more about chance than about the crank.
const enoughForCorrelation = 10

// meanSD returns the standard uncertainty of the mean of xs, widened for neighbours that
// resemble each other, as crank wow makes them, by the variance of the mean of a
// first-order autoregression, (1+r)/(1−r). It needs two values or more.
func meanSD(xs []float64) float64 {
	return math.Sqrt(inflation(xs) * stat.Variance(xs, nil) / float64(len(xs)))
}

// inflation returns by how much the variance of a mean is larger for neighbours that
// resemble each other.
func inflation(xs []float64) float64 {
	if r := math.Min(lag1(xs), 0.8); r > 0 && len(xs) >= enoughForCorrelation {
		return (1 + r) / (1 - r)
	}
	return 1
}

// Student975 returns the 97.5 % point of Student's t with so many degrees of freedom.
func Student975(dof float64) float64 {
	if n := int(dof); n >= 1 && n < usualDOF && float64(n) == dof {
		return usual975()[n]
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(0.975)
}

// usual975 are the points at the degrees of freedom that takes of usual length have:
// each is worked out once.
var usual975 = sync.OnceValue(func() []float64 {
	points := make([]float64, usualDOF)
	for n := 1; n < usualDOF; n++ {
		points[n] = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n)}.Quantile(0.975)
	}
	return points
})

const usualDOF = 100
