package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"lagwright/internal/target"
)

// What measuring aims at, as far as a take that misses it is worth a look.
const (
	lagWithinMS    = 1.0 // for 95 % of the takes
	tempoWithinPct = 0.1
)

// verdict says the figures, and returns an error that names those that miss their
// targets.
func (h *host) verdict(figures []target.Figure) error {
	var names []string
	for _, f := range figures {
		h.say("%s", f)
		if f.Missed() {
			names = append(names, f.Name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	return fmt.Errorf("%d of %d figures miss their targets: %s", len(names), len(figures), strings.Join(names, ", "))
}

// sums are the figures of many takes. Each is a column of the table, or a line at its end,
// or both.
var sums = []struct {
	head   string
	digits int
	figure target.Figure // without its value
	of     func(score) float64
	sum    func(sorted []float64) float64
}{
	{"lag med", 3, target.AtMost("lag_error_median", 0, "ms", 0.15), score.lag, share(0.5)},
	{"95%", 3, target.AtMost("lag_error_95", 0, "ms", lagWithinMS), score.lag, share(0.95)},
	{"worst", 2, target.Figure{}, score.lag, func(xs []float64) float64 { return quantile(xs[:len(xs)-int(refused(xs))], 1) }},
	{"undoubted", 2, target.AtMost("lag_error_worst_undoubted", 0, "ms", 3), score.undoubted, share(1)},
	{"refused", 0, target.Figure{}, score.lag, refused},
	{"F", 3, target.AtLeast("onset_f", 0, "share", 0.98), func(s score) float64 { return s.f }, mean},
	{"tempo %", 3, target.AtMost("tempo_error_95", 0, "%", tempoWithinPct), func(s score) float64 { return s.tempoOffPct }, share(0.95)},
	{"law", 0, target.Between("interval_covers_law", 0, "%", 93, 98), func(s score) float64 { return s.law }, percent},
	{"own", 0, target.Plain("interval_covers_law_at_own_periods", 0, "%"), func(s score) float64 { return s.own }, percent},
	{"hits", 0, target.Plain("interval_covers_hits", 0, "%"), func(s score) float64 { return s.hits }, percent},
	{"warned", 0, target.AtLeast("warned", 0, "%", 100), score.warned, percent},
	{"", 0, target.Plain("doubted", 0, "%"), func(s score) float64 { return oneIf(s.doubted) }, percent},
	{"extra", 0, target.Plain("alarmed_for_nothing", 0, "%"), score.alarmed, percent},
	{"ms/take", 0, target.Figure{}, func(s score) float64 { return s.took.Seconds() * 1000 }, mean},
}

// accuracyFigures sums the takes up. Figures of which no take says anything are
// left out.
func accuracyFigures(scores []score) []target.Figure {
	figures := []target.Figure{target.Plain("takes", float64(len(scores)), "takes")}
	for _, s := range sums {
		f := s.figure
		if f.Value = s.sum(collect(scores, s.of)); f.Name != "" && !math.IsNaN(f.Value) {
			figures = append(figures, f)
		}
	}
	return figures
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

// refused counts the takes whose lag is infinitely far off.
func refused(xs []float64) (n float64) {
	for _, x := range xs {
		n += oneIf(math.IsInf(x, 0))
	}
	return n
}

func share(of float64) func([]float64) float64 {
	return func(xs []float64) float64 { return quantile(xs, of) }
}

func percent(xs []float64) float64 { return 100 * mean(xs) }

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
