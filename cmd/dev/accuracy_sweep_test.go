package main

import (
	"math"
	"slices"
	"testing"

	"lagwright/calib"
)

// TestSweepTrial: a few machines of the trial; accuracy plays many.
func TestSweepTrial(t *testing.T) {
	figures, err := trialFigures(t.Context(), 24)
	if err != nil || len(figures) != 4 {
		t.Fatal(figures, err)
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

// TestSweepCompare: a law that was told is judged at five tempos, and whole beats are
// forgiven only where they are open.
func TestSweepCompare(t *testing.T) {
	played := calib.TakeLaw{DelayMS: 200, OffsetBeats: -0.3, FromBPM: 60, ToBPM: 120}
	told := calib.TakeLaw{DelayMS: 201, OffsetBeats: -0.3, Cov: [2][2]float64{{1, 0}, {0, 1e-9}}, DOF: 50}
	for _, row := range []struct {
		name          string
		change        func(*sweepScore)
		worst, silent float64
		covered       float64
	}{
		{"off by 1 ms", func(*sweepScore) {}, 1, 1, 1},
		{"a beat off and open", func(s *sweepScore) { s.law.OffsetBeats, s.law.WholeBeatsOpen = 0.7, true }, 1, 1, 1},
		{"a beat off and silent", func(s *sweepScore) { s.law.OffsetBeats = 0.7 }, 1001, 1001, 0},
		{"doubted", func(s *sweepScore) { s.law.DelayMS, s.doubted = 210, true }, 10, math.NaN(), 0},
		{"not told", func(s *sweepScore) { s.told = false }, math.Inf(1), math.NaN(), math.NaN()},
	} {
		s := sweepScore{law: told, played: played, told: true}
		row.change(&s)
		s.judge()
		sum := sumSweeps([]sweepScore{s})
		got := []float64{s.worst(), quantile(sum.undoubted, 1), mean(sum.covered)}
		if !slices.EqualFunc(got, []float64{row.worst, row.silent, row.covered}, func(a, b float64) bool {
			return a == b || math.Abs(a-b) < 1e-9 || math.IsNaN(a) && math.IsNaN(b)
		}) {
			t.Errorf("%s: worst, undoubted and covered are %v, want %v, %v, %v", row.name, got, row.worst, row.silent, row.covered)
		}
	}
}
