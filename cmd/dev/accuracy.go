package main

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"lagwright/internal/target"
)

// accuracyFlags is what the accuracy verb can be told.
type accuracyFlags struct {
	takes               int    // per trap
	first               uint64 // seed of the first take of each trap
	trap                string // empty = all
	verbose, real, held bool
}

// scores are what one take came to, by name: nothing where it says nothing of that, and
// several where it is judged at several tempos.
type scores map[string][]float64

// played is what became of one take.
type played struct {
	scores
	bad  bool // worth a look
	note string
	err  error
}

// trap is one thing that goes wrong with takes, as a family of seeded takes.
type trap struct {
	name    string
	play    func(ctx context.Context, seed uint64) played
	figures []sum // of its own takes
}

// family is traps whose takes are judged alike.
type family struct {
	name  string
	traps []trap
	times int // so many takes are asked for where one of these is played; 0 = 1
	sums  []sum
	setUp func(ctx context.Context, h *host, f accuracyFlags) error // before any is played; nil = nothing
}

// sum is a figure of many takes: a column of the table where it has a head, a line at its
// end where the figure has a name.
type sum struct {
	head   string
	digits int
	figure target.Figure // without its value
	of     string        // which scores go into it
	sum    func(sorted []float64) float64
}

// accuracy measures seeded takes with known lags, trap by trap, and compares what is
// measured with what was played. TRAPS.md in calib/practice says how, and what the columns
// mean.
func accuracy(ctx context.Context, h *host, args []string) error {
	f, err := parseAccuracy(args)
	if err != nil {
		return err
	}
	families := []family{practiceTakes(), practiceSweeps()}
	if f.real || f.held {
		families = []family{laidTakes()}
	}
	var names []string
	for i, kind := range families {
		for _, t := range kind.traps {
			names = append(names, t.name)
		}
		families[i].traps = slices.DeleteFunc(kind.traps, func(t trap) bool { return f.trap != "" && t.name != f.trap })
	}
	if f.trap != "" && !slices.Contains(names, f.trap) {
		return usageError(fmt.Sprintf("there is no trap %q; there are %s", f.trap, strings.Join(names, ", ")))
	}
	return measureAll(ctx, h, families, f)
}

// measureAll plays the takes of families, and ends with the verdict on all.
func measureAll(ctx context.Context, h *host, families []family, f accuracyFlags) error {
	var figures []target.Figure
	for _, kind := range families {
		some, err := kind.measure(ctx, h, f)
		if err != nil {
			return err
		}
		figures = append(figures, some...)
	}
	return h.verdict(figures)
}

// parseAccuracy reads the verb's arguments. Twelve takes a trap make more than
// the 500 that the targets are stated for.
func parseAccuracy(args []string) (f accuracyFlags, err error) {
	set := flags()
	set.IntVar(&f.takes, "n", 12, "")
	set.Uint64Var(&f.first, "seed", 1, "")
	set.StringVar(&f.trap, "trap", "", "")
	set.BoolVar(&f.verbose, "v", false, "")
	set.BoolVar(&f.real, "real", false, "")
	set.BoolVar(&f.held, "held", false, "")
	err = set.Parse(args)
	if err != nil || set.NArg() > 0 || f.takes < 1 {
		return f, usageError("usage: accuracy [-n TAKES-PER-TRAP] [-seed FIRST] [-trap NAME] [-v] [-real | -held]: -v lists the takes that went badly, -real lays takes from recorded strikes, -held from those that nothing was tuned on")
	}
	return f, nil
}

// measure plays the takes of every trap in the order of traps and seeds, prints a row for
// each trap, and sums all up.
func (kind family) measure(ctx context.Context, h *host, f accuracyFlags) (figures []target.Figure, err error) {
	if kind.setUp != nil {
		if err := kind.setUp(ctx, h, f); err != nil {
			return nil, err
		}
	}
	times := max(kind.times, 1)
	n := (f.takes + times - 1) / times
	of := func(i int) (trap, uint64) { return kind.traps[i/n], f.first + uint64(i%n) }
	all, err := each(ctx, len(kind.traps)*n, func(i int) played {
		t, seed := of(i)
		return t.play(ctx, seed)
	})
	if err != nil || len(all) == 0 {
		return nil, err
	}
	for i, p := range all {
		t, seed := of(i)
		if p.err != nil {
			return nil, fmt.Errorf("measuring %s with seed %d: %w", t.name, seed, p.err)
		}
		if f.verbose && p.bad {
			h.say("-trap %s -seed %d -n 1: %s", t.name, seed, p.note)
		}
	}
	w := tabwriter.NewWriter(h.stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(w, "%s\ttakes", kind.name)
	for _, s := range kind.sums {
		if s.head != "" {
			fmt.Fprintf(w, "\t%s", s.head)
		}
	}
	row := func(name string, takes []played) {
		fmt.Fprintf(w, "\t\n%s\t%d", name, len(takes))
		for _, s := range kind.sums {
			if s.head != "" {
				fmt.Fprintf(w, "\t%s", cell(s.digits, s.over(takes)))
			}
		}
	}
	for i, t := range kind.traps {
		own := all[i*n : (i+1)*n]
		row(t.name, own)
		figures = append(figures, figuresOf(t.figures, own)...)
	}
	whole := figuresOf(kind.sums, all)
	if len(kind.traps) > 1 && len(whole) > 0 {
		row("all", all)
	}
	fmt.Fprintln(w, "\t")
	return append(figures, whole...), w.Flush()
}

// each returns what do gives for 0 to n-1, as many at a time as there are processors.
// Once ctx is done it begins no more, and returns why.
func each[T any](ctx context.Context, n int, do func(i int) T) ([]T, error) {
	all := make([]T, n)
	var workers errgroup.Group
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for i := range all {
		if ctx.Err() == nil {
			workers.Go(func() error { all[i] = do(i); return nil })
		}
	}
	return all, cmp.Or(workers.Wait(), ctx.Err())
}

// figuresOf sums takes up. Those of which no take says anything are left out.
func figuresOf(sums []sum, takes []played) (figures []target.Figure) {
	for _, s := range sums {
		figure := s.figure
		if figure.Value = s.over(takes); figure.Name != "" && !math.IsNaN(figure.Value) {
			figures = append(figures, figure)
		}
	}
	return figures
}

// over sums up some takes; NaN where none of them says anything.
func (s sum) over(takes []played) float64 {
	if s.of == "" {
		return float64(len(takes))
	}
	var xs []float64
	for _, t := range takes {
		xs = append(xs, t.scores[s.of]...)
	}
	if len(xs) == 0 {
		return math.NaN()
	}
	slices.Sort(xs)
	return s.sum(xs)
}

// takesOf counts the takes.
func takesOf(name string) sum { return sum{figure: target.Plain(name, 0, "takes")} }

func share(of float64) func([]float64) float64 {
	return func(xs []float64) float64 { return quantile(xs, of) }
}

func percent(xs []float64) float64 { return 100 * mean(xs) }

// rootMeanSquare returns that of some numbers.
func rootMeanSquare(xs []float64) float64 {
	return floats.Norm(xs, 2) / math.Sqrt(float64(len(xs)))
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

func oneIf(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// cell is a number of a table; "-" where there is none.
func cell(digits int, x float64) string {
	if math.IsNaN(x) {
		return "-"
	}
	return strconv.FormatFloat(x, 'f', digits, 64)
}
