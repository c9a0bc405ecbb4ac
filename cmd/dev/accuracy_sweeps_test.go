package main

import (
	"math"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/internal/target"
)

// TestSweepsByHits: a few machines; accuracy plays many.
func TestSweepsByHits(t *testing.T) {
	figures := figuresOf(t, sweepsByHits(), 24)
	if len(figures) != 4 {
		t.Fatal(figures)
	}
	for _, f := range figures[:3] {
		if f.Missed() {
			t.Error(f)
		}
	}
	// Of 24 laws, each at five tempos that go together, nearly all are covered.
	if covers := figures[3].Value; covers < 80 {
		t.Error(figures[3])
	}
}

// TestJudgeSweep: a law that was told is judged at five tempos, and whole beats are
// forgiven only where they are open.
func TestJudgeSweep(t *testing.T) {
	law := calib.TakeLaw{DelayMS: 200, OffsetBeats: -0.3, FromBPM: 60, ToBPM: 120}
	for _, row := range []struct {
		name          string
		change        func(*calib.Reading)
		worst, silent float64
		covered       float64
	}{
		{"off by 1 ms", func(*calib.Reading) {}, 1, 1, 1},
		{"a beat off and open", func(r *calib.Reading) { r.Law.OffsetBeats, r.Law.WholeBeatsOpen = 0.7, true }, 1, 1, 1},
		{"a beat off and silent", func(r *calib.Reading) { r.Law.OffsetBeats = 0.7 }, 1001, 1001, 0},
		{"doubted", func(r *calib.Reading) {
			r.Law.DelayMS, r.Warnings = 210, []calib.Warning{{Code: calib.WarnDoubtful}}
		}, 10, math.NaN(), 0},
		{"not told", func(r *calib.Reading) { r.Law.DOF = 0 }, math.Inf(1), math.NaN(), math.NaN()},
	} {
		r := calib.Reading{Law: calib.TakeLaw{DelayMS: 201, OffsetBeats: -0.3, Cov: [2][2]float64{{1, 0}, {0, 1e-9}}, DOF: 50}}
		row.change(&r)
		p := []played{judgeSweep(r, law)}
		got := []float64{sum{of: "lag", sum: share(1)}.over(p), sum{of: "undoubted", sum: share(1)}.over(p), sum{of: "covered", sum: mean}.over(p)}
		if want := []float64{row.worst, row.silent, row.covered}; !slices.EqualFunc(got, want, alike) {
			t.Errorf("%s: worst, undoubted and covered are %v, want %v", row.name, got, want)
		}
	}
}

// alike reports whether two numbers are the same but for rounding, or both none.
func alike(a, b float64) bool {
	return a == b || math.Abs(a-b) < 1e-9 || math.IsNaN(a) && math.IsNaN(b)
}

// figuresOf are those of some takes of each trap of a family.
func figuresOf(t *testing.T, kind family, takes int) []target.Figure {
	t.Helper()
	h, _ := bare()
	kind.takes = func(int) int { return takes }
	figures, err := kind.measure(t.Context(), h, accuracyFlags{first: 1})
	if err != nil {
		t.Fatal(err)
	}
	return figures
}
