package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
)

// What measuring aims at, as far as a take that misses it is worth a look.
const (
	lagWithinMS    = 1.0 // for 95 % of the takes
	tempoWithinPct = 0.1
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

// verdict says the figures, and returns an error that names those that miss their
// targets.
func (h *host) verdict(figures []figure) error {
	var names []string
	for _, f := range figures {
		h.say("%s", f)
		if f.missed() {
			names = append(names, f.name)
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
	figure figure // without its value
	of     func(score) float64
	sum    func(sorted []float64) float64
}{
	{"lag med", 3, atMost("lag_error_median", 0, "ms", 0.15), score.lag, share(0.5)},
	{"95%", 3, atMost("lag_error_95", 0, "ms", lagWithinMS), score.lag, share(0.95)},
	{"worst", 2, figure{}, score.lag, func(xs []float64) float64 { return quantile(xs[:len(xs)-int(refused(xs))], 1) }},
	{"undoubted", 2, atMost("lag_error_worst_undoubted", 0, "ms", 3), score.undoubted, share(1)},
	{"refused", 0, figure{}, score.lag, refused},
	{"F", 3, atLeast("onset_f", 0, "share", 0.98), func(s score) float64 { return s.f }, mean},
	{"tempo %", 3, atMost("tempo_error_95", 0, "%", tempoWithinPct), func(s score) float64 { return s.tempoOffPct }, share(0.95)},
	{"law", 0, figure{"interval_covers_law", 0, "%", 93, 98}, func(s score) float64 { return s.law }, percent},
	{"own", 0, plain("interval_covers_law_at_own_periods", 0, "%"), func(s score) float64 { return s.own }, percent},
	{"hits", 0, plain("interval_covers_hits", 0, "%"), func(s score) float64 { return s.hits }, percent},
	{"warned", 0, atLeast("warned", 0, "%", 100), score.warned, percent},
	{"", 0, plain("doubted", 0, "%"), func(s score) float64 { return oneIf(s.doubted) }, percent},
	{"extra", 0, plain("alarmed_for_nothing", 0, "%"), score.alarmed, percent},
	{"ms/take", 0, figure{}, func(s score) float64 { return s.took.Seconds() * 1000 }, mean},
}

// accuracyFigures sums the takes up. Figures of which no take says anything are
// left out.
func accuracyFigures(scores []score) []figure {
	figures := []figure{plain("takes", float64(len(scores)), "takes")}
	for _, s := range sums {
		f := s.figure
		if f.value = s.sum(collect(scores, s.of)); f.name != "" && !math.IsNaN(f.value) {
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
