package main

import (
	"bytes"
	"context"
	"errors"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/target"
)

func TestAccuracyMeasuresFiveHundredTakes(t *testing.T) {
	f, err := parseAccuracy(nil)
	if n := f.takes * len(practice.Traps()); err != nil || n < 500 {
		t.Errorf("%d takes, %v; the targets are stated for 500", n, err)
	}
}

func TestAccuracyNamesTheTrapsThereAre(t *testing.T) {
	h, _ := bare()
	err := accuracy(t.Context(), h, []string{"-trap", "moon"})
	if _, ok := errors.AsType[usageError](err); !ok || !strings.Contains(err.Error(), "clunk") {
		t.Errorf("%v is no usage error that names the traps there are", err)
	}
}

// TestAccuracyIsTheSameEachTime runs a small table twice: all but the time taken
// is the same, and every line after the table is a figure.
func TestAccuracyIsTheSameEachTime(t *testing.T) {
	var figures []string
	for range 2 {
		h, _ := bare()
		accuracy(t.Context(), h, []string{"-trap", "three-hits", "-n", "3", "-v"})
		out := h.stdout.(*bytes.Buffer).String()
		if !strings.Contains(out, "three-hits      3") {
			t.Errorf("no line for the trap in\n%s", out)
		}
		figures = append(figures, out[strings.Index(out, "takes 3 takes -"):])
	}
	if figures[0] != figures[1] {
		t.Errorf("two runs say\n%s\nand\n%s", figures[0], figures[1])
	}
	line := regexp.MustCompile(`^[a-z0-9_]+ \S+ \S+ \S+$`)
	for _, f := range strings.Split(strings.TrimSpace(figures[0]), "\n") {
		if !line.MatchString(f) {
			t.Errorf("%q is not: name value unit target", f)
		}
	}
}

func TestAccuracyEndsWhenTold(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	h, _ := bare()
	if err := accuracy(ctx, h, []string{"-trap", "three-hits", "-n", "1"}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want it cancelled", err)
	}
}

// reading is a reading of three pairs with an interval of ±0.5 ms.
func reading(lagMS float64, codes ...string) calib.Reading {
	pair := calib.Pair{Used: true}
	r := calib.Reading{TempoBPM: 100.05, LagMS: lagMS, LagCI95MS: [2]float64{lagMS - 0.5, lagMS + 0.5}, ReferencePeriodMS: 600,
		VoiceHitsS: []float64{1, 2, 3.1}, Pairs: []calib.Pair{pair, pair, pair}}
	for _, c := range codes {
		r.Warnings = append(r.Warnings, calib.Warning{Code: c})
	}
	return r
}

func TestJudge(t *testing.T) {
	truth := practice.Truth{VoiceHitsS: []float64{1.001, 2.004, 3}, LagsMS: []float64{9, 10, 11}, PeriodsMS: []float64{600, 600, 600},
		MeanLagMS: 10, TempoBPM: 100}
	other := truth
	other.TempoBPM = 101
	deaf := truth
	deaf.Faults = []practice.Fault{{Code: calib.WarnDropOut, Channel: 2, FromS: 2.9, ToS: 3.2}}
	dead := truth
	dead.Faults = []practice.Fault{{Code: calib.WarnDeadChannel, Channel: 1, FromS: -1, ToS: 9}}
	few := reading(10, signal.WarnFewHits)
	few.Pairs = few.Pairs[:2]
	nan, inf := math.NaN(), math.Inf(1)
	for _, row := range []struct {
		name                     string
		r                        calib.Reading
		truth                    practice.Truth
		lag, undoubted, f, cover float64 // cover: own periods and hits
	}{
		{"off by 0.2 ms", reading(10.2), truth, 0.2, 0.2, 2.0 / 3, 1},
		{"another mean tempo", reading(10.2), other, 0.2, 0.2, 2.0 / 3, 1},
		{"off by 2 ms", reading(8), truth, 2, 2, 2.0 / 3, 0},
		{"says it is doubtful", reading(8, calib.WarnDoubtful), truth, 2, nan, 2.0 / 3, 0},
		{"a beat off and says so", reading(-589.8, calib.WarnWholeBeat), truth, 0.2, nan, 2.0 / 3, 1},
		{"a beat off and does not", reading(-589.8), truth, 599.8, 599.8, 2.0 / 3, 0},
		{"refused", few, truth, inf, nan, 2.0 / 3, nan},
		{"a hit dropped out", reading(9.7), deaf, 0.2, 0.2, 1, 1},
		{"nothing to measure", few, dead, nan, nan, nan, nan},
	} {
		// By this law the lag is 10 ms at the hits' own 600 ms and 110 ms at any other.
		p := judge(row.r, row.r.Warnings, nil, row.truth, func(periodMS float64) float64 { return 10 + 100*oneIf(periodMS != 600) })
		of := func(name string) float64 { return sum{of: name, sum: mean}.over([]played{p}) }
		got := []float64{of("lag"), of("undoubted"), of("F"), of("own"), of("hits")}
		want := []float64{row.lag, row.undoubted, row.f, row.cover, row.cover}
		if !slices.EqualFunc(got, want, alike) {
			t.Errorf("%s: lag error, the same undoubted, F and cover are %v, want %v", row.name, got, want)
		}
		if row.name == "another mean tempo" && of("law") != 0 || row.name == "off by 0.2 ms" && of("law") != 1 {
			t.Errorf("%s: covers the law %g", row.name, of("law"))
		}
		if row.name != "nothing to measure" && row.name != "another mean tempo" && math.Abs(of("tempo")-0.05) > 1e-9 {
			t.Errorf("%s: tempo off by %g %%, want 0.05", row.name, of("tempo"))
		}
	}
}

func TestWarned(t *testing.T) {
	for _, row := range []struct {
		codes, expect  []string
		warned, alarms float64
	}{
		{nil, nil, math.NaN(), 0},
		{[]string{calib.WarnSwapped}, []string{calib.WarnSwapped}, 1, 0},
		{nil, []string{calib.WarnSwapped}, 0, 0},
		{[]string{calib.WarnDropOut}, []string{calib.WarnSwapped}, 0, 1},
		{[]string{calib.WarnWholeBeat, calib.WarnClipped}, nil, math.NaN(), 0},
	} {
		p := []played{judge(calib.Reading{}, reading(10, row.codes...).Warnings, row.expect, practice.Truth{}, nil)}
		warned, alarmed := sum{of: "warned", sum: mean}.over(p), sum{of: "extra", sum: mean}.over(p)
		if !alike(warned, row.warned) || alarmed != row.alarms {
			t.Errorf("%v where %v were due: warned %g, alarmed %g", row.codes, row.expect, warned, alarmed)
		}
	}
}

func TestFigures(t *testing.T) {
	inBand := target.Between("c", 95, "%", 93, 98)
	for _, row := range []struct {
		f      target.Figure
		line   string
		missed bool
	}{
		{target.AtMost("a", 0.15, "ms", 0.15), "a 0.15 ms <=0.15", false},
		{target.AtMost("a", math.Inf(1), "ms", 0.15), "a +Inf ms <=0.15", true},
		{target.AtLeast("b", 0.9, "share", 0.98), "b 0.9 share >=0.98", true},
		{inBand, "c 95 % 93..98", false},
		{target.Between("c", 99, "%", 93, 98), "c 99 % 93..98", true},
		{target.Plain("d", 7, "takes"), "d 7 takes -", false},
	} {
		if row.f.String() != row.line || row.f.Missed() != row.missed {
			t.Errorf("%q, missed %v; want %q, %v", row.f, row.f.Missed(), row.line, row.missed)
		}
	}
	h, _ := bare()
	if err := h.verdict([]target.Figure{inBand}); err != nil {
		t.Errorf("all is met: %v", err)
	}
	if err := h.verdict([]target.Figure{inBand, target.AtLeast("b", 0.9, "", 0.98)}); err == nil || !strings.Contains(err.Error(), "1 of 2") || report(&bytes.Buffer{}, err) != 1 {
		t.Errorf("one is missed: %v", err)
	}
}

// TestAccuracyFigures: refused takes count as far off, and figures that no take
// has are left out.
func TestAccuracyFigures(t *testing.T) {
	takes := []played{
		{scores: scores{"lag": {0.1}, "undoubted": {0.1}, "F": {1}, "tempo": {0}, "law": {1}, "own": {1}, "hits": {1}, "doubted": {0}, "extra": {0}}},
		{scores: scores{"lag": {0.3}, "undoubted": {0.3}, "F": {0.9}, "tempo": {0.2}, "law": {0}, "own": {1}, "hits": {1}, "doubted": {0}, "extra": {0}}},
		{scores: scores{"lag": {math.Inf(1)}, "doubted": {1}, "extra": {0}}},
	}
	want := map[string]float64{"takes": 3, "lag_error_median": 0.3, "lag_error_95": math.Inf(1), "lag_error_worst_undoubted": 0.3,
		"onset_f": 0.95, "tempo_error_95": 0.2, "interval_covers_law": 50, "interval_covers_law_at_own_periods": 100, "interval_covers_hits": 100,
		"doubted": 100.0 / 3, "alarmed_for_nothing": 0}
	got := figuresOf(practiceTakes().sums, takes)
	for _, f := range got {
		if w, ok := want[f.Name]; !ok || f.Value != w && math.Abs(f.Value-w) > 1e-9 {
			t.Errorf("%s, want %g", f, w)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d figures, want %d: %v", len(got), len(want), got)
	}
}
