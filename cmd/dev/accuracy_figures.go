package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
)

// What measuring aims at.
const (
	lagMedianMS    = 0.15
	lagWithinMS    = 1.0 // for lagWithinShare of the takes
	lagWithinShare = 0.95
	lagWorstMS     = 3.0 // without a warning
	onsetF         = 0.98
	tempoWithinPct = 0.1
	coverageLow    = 93.0 // %
	coverageHigh   = 98.0
)

// figure is one number a measuring verb ends with. A bound that is NaN is none.
type figure struct {
	name      string
	value     float64
	unit      string
	low, high float64
}

// atMost and atLeast are figures with a target, plain ones are there to be
// looked at.
func atMost(name string, value float64, unit string, high float64) figure {
	return figure{name, value, unit, math.NaN(), high}
}

func atLeast(name string, value float64, unit string, low float64) figure {
	return figure{name, value, unit, low, math.NaN()}
}

func plain(name string, value float64, unit string) figure {
	return figure{name, value, unit, math.NaN(), math.NaN()}
}

// String is the figure as a line: name value unit target.
func (f figure) String() string {
	target := "-"
	switch {
	case f.low == f.low && f.high == f.high:
		target = fmt.Sprintf("%g..%g", f.low, f.high)
	case f.high == f.high:
		target = fmt.Sprintf("<=%g", f.high)
	case f.low == f.low:
		target = fmt.Sprintf(">=%g", f.low)
	}
	return fmt.Sprintf("%s %.4g %s %s", f.name, f.value, f.unit, target)
}

// missed reports whether the value lies outside the target.
func (f figure) missed() bool { return f.value < f.low || f.value > f.high }

// missed returns an error that names the figures that miss their targets.
func missed(figures []figure) error {
	var names []string
	for _, f := range figures {
		if f.missed() {
			names = append(names, f.name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	return fmt.Errorf("%d of %d figures miss their targets: %s", len(names), len(figures), strings.Join(names, ", "))
}

// accuracyFigures sums the takes up. Figures of which no take says anything are
// left out.
func accuracyFigures(scores []score) []figure {
	lags, undoubted := collect(scores, score.lag), collect(scores, score.undoubted)
	figures := []figure{
		plain("takes", float64(len(scores)), "takes"),
		atMost("lag_error_median", quantile(lags, 0.5), "ms", lagMedianMS),
		atMost("lag_error_95", quantile(lags, lagWithinShare), "ms", lagWithinMS),
		atMost("lag_error_worst_undoubted", quantile(undoubted, 1), "ms", lagWorstMS),
		atLeast("onset_f", mean(collect(scores, score.onsets)), "share", onsetF),
		atMost("tempo_error_95", quantile(collect(scores, score.tempo), 0.95), "%", tempoWithinPct),
		{"interval_covers_law", 100 * mean(collect(scores, score.coversLaw)), "%", coverageLow, coverageHigh},
		plain("interval_covers_law_at_own_periods", 100*mean(collect(scores, score.coversOwn)), "%"),
		plain("interval_covers_hits", 100*mean(collect(scores, score.coversHits)), "%"),
		atLeast("warned", 100*mean(collect(scores, score.warned)), "%", 100),
		plain("doubted", 100*mean(collect(scores, score.doubtful)), "%"),
		plain("alarmed_for_nothing", 100*mean(collect(scores, score.alarmed)), "%"),
	}
	return slices.DeleteFunc(figures, func(f figure) bool { return math.IsNaN(f.value) })
}

// collect returns a figure of every take that has it, smallest first.
func collect(scores []score, of func(score) float64) []float64 {
	var xs []float64
	for _, s := range scores {
		if x := of(s); !math.IsNaN(x) {
			xs = append(xs, x)
		}
	}
	slices.Sort(xs)
	return xs
}

func finite(xs []float64) []float64 {
	return slices.DeleteFunc(slices.Clone(xs), func(x float64) bool { return math.IsInf(x, 0) })
}

// quantile returns the smallest of sorted numbers that a share of them does not
// exceed; NaN of none.
func quantile(xs []float64, share float64) float64 {
	if len(xs) == 0 {
		return math.NaN()
	}
	return stat.Quantile(share, stat.Empirical, xs, nil)
}

// mean returns the mean; NaN of none.
func mean(xs []float64) float64 {
	if len(xs) == 0 {
		return math.NaN()
	}
	return stat.Mean(xs, nil)
}

// cell is a number in a table, a dash where there is none.
func cell(digits int, x float64) string {
	if math.IsNaN(x) {
		return "-"
	}
	return fmt.Sprintf("%.*f", digits, x)
}
