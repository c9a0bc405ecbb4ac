package signal

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestCorrelate compares with the sums that define a correlation.
func TestCorrelate(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{1, 2, 63, 64, 65, 1000} {
		x, v := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], v[i] = r.NormFloat64(), r.NormFloat64()
		}
		lags := (n + 1) / 2
		auto, cross := correlate(x, v, lags)
		if len(auto) != lags || len(cross) != lags {
			t.Fatalf("%d samples: %d and %d lags, want %d", n, len(auto), len(cross), lags)
		}
		for j := range lags {
			var wantAuto, wantCross float64
			for i := range n - j {
				wantAuto += x[i+j] * x[i]
				wantCross += v[i+j] * x[i]
			}
			if math.Abs(auto[j]-wantAuto) > 1e-9 || math.Abs(cross[j]-wantCross) > 1e-9 {
				t.Errorf("%d samples, lag %d: %g and %g, want %g and %g", n, j, auto[j], cross[j], wantAuto, wantCross)
			}
		}
	}
}
