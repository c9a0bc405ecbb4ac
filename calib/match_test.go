package calib

import (
	"math"
	"testing"
)

// TestFMeasure checks the score by published values: sets 05 and 07 of
// mir_eval's tests/data/onset @1fed5327 with their outputs 05 and 07, window
// 0.05 s. The last row is a counter-example of our own: pairing the nearest
// first finds one pair where there are two.
func TestFMeasure(t *testing.T) {
	for _, row := range []struct {
		name       string
		truth, got []float64
		pairs      int
		f          float64
	}{
		{"set 05",
			[]float64{0.194467120, 1.128639455, 2.023877551, 4.079727891},
			[]float64{0.2438095238095238, 1.1900226757369614, 2.0868934240362811, 4.1302494331065756, 4.6120634920634922},
			1, 0.22222222222222224},
		{"set 07",
			[]float64{0, 0.33, 0.496, 0.65, 0.96, 1.116, 1.278, 1.613, 1.933, 2.109, 2.25},
			[]float64{0.3121541950113379, 0.4543764172335601, 0.6053061224489796, 0.9478004535147392, 1.0726077097505669,
				1.2525623582766439, 1.5689342403628117, 1.8882086167800454, 2.0652607709750566, 2.2481179138321994},
			10, 0.9523809523809523},
		{"nothing heard", []float64{1}, nil, 0, 0},
		{"nearest first is not best", []float64{1.000, 1.060}, []float64{0.960, 1.030}, 2, 1},
	} {
		f, pairs := FMeasure(row.truth, row.got, 0.050)
		if pairs != row.pairs || math.Abs(f-row.f) > 1e-12 {
			t.Errorf("%s: %d pairs, F %.16f; want %d, %.16f", row.name, pairs, f, row.pairs, row.f)
		}
	}
}
