package signal_test

import (
	"math"
	"testing"
)

// fMeasure scores estimated times against true ones: the share that a largest
// one-to-one matching pairs up within a window (inclusive), as the F-measure of
// mir_eval.onset (craffel/mir_eval, mir_eval/onset.py and util.py @1fed5327).
// It also returns the number of pairs.
func fMeasure(truth, got []float64, windowS float64) (f float64, pairs int) {
	mate := make([]int, len(got)) // of each estimate, 1 + the true time it has
	for i := range truth {
		if augment(truth, got, windowS, i, mate, make([]bool, len(got))) {
			pairs++
		}
	}
	if pairs == 0 {
		return 0, 0
	}
	p, r := float64(pairs)/float64(len(got)), float64(pairs)/float64(len(truth))
	return 2 * p * r / (p + r), pairs
}

// augment looks for an estimate for the true time i, moving others if need be.
func augment(truth, got []float64, windowS float64, i int, mate []int, seen []bool) bool {
	for j, g := range got {
		if seen[j] || math.Abs(g-truth[i]) > windowS {
			continue
		}
		seen[j] = true
		if mate[j] == 0 || augment(truth, got, windowS, mate[j]-1, mate, seen) {
			mate[j] = i + 1
			return true
		}
	}
	return false
}

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
		f, pairs := fMeasure(row.truth, row.got, 0.050)
		if pairs != row.pairs || math.Abs(f-row.f) > 1e-12 {
			t.Errorf("%s: %d pairs, F %.16f; want %d, %.16f", row.name, pairs, f, row.pairs, row.f)
		}
	}
}
