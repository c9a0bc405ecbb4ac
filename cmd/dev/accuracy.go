package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"lagwright/calib/practice"
	"lagwright/internal/target"
)

// accuracyFlags is what the accuracy verb can be told.
type accuracyFlags struct {
	takes   int    // per trap
	first   uint64 // seed of the first take of each trap
	trap    string // empty = all
	verbose bool
	list    bool // say what the traps are, and measure nothing
	real    bool // lay takes from recorded strikes instead
	held    bool // from those that nothing was tuned on
}

// accuracy measures seeded takes of the simulated machine, trap by trap, and
// compares what is measured with what was played. TRAPS.md in calib/practice says
// how, and what the columns mean.
func accuracy(ctx context.Context, h *host, args []string) error {
	f, err := parseAccuracy(args)
	if err != nil {
		return err
	}
	if f.real || f.held {
		return accuracyReal(ctx, h, f)
	}
	traps, sweeps, err := chosenTraps(f.trap)
	if err != nil {
		return err
	}
	if f.list {
		return listTraps(h.stdout, slices.Concat(traps, sweeps))
	}
	scores, err := measureTraps(ctx, traps, f)
	if err != nil {
		return err
	}
	swept, err := measureSweeps(ctx, sweeps, f)
	if err != nil {
		return err
	}
	if f.verbose {
		writeBadTakes(h.stdout, scores)
		writeBadSweeps(h.stdout, swept)
	}
	var figures []target.Figure
	if len(traps) > 0 {
		writeTraps(h.stdout, traps, scores)
		figures = accuracyFigures(scores)
	}
	if len(sweeps) > 0 {
		writeSweeps(h.stdout, sweeps, swept)
		figures = append(figures, sweepFigures("sweep", swept)...)
	}
	if f.trap == "" {
		for _, more := range []func(context.Context) ([]target.Figure, error){jitterFigures, allTrialFigures} {
			some, err := more(ctx)
			if err != nil {
				return err
			}
			figures = append(figures, some...)
		}
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
	set.BoolVar(&f.list, "list", false, "")
	set.BoolVar(&f.real, "real", false, "")
	set.BoolVar(&f.held, "held", false, "")
	err = set.Parse(args)
	if err != nil || set.NArg() > 0 || f.takes < 1 {
		return f, usageError("usage: accuracy [-n TAKES-PER-TRAP] [-seed FIRST] [-trap NAME] [-v] [-list] [-real | -held]: -v lists the takes that went badly, -list only says what the traps are, -real lays takes from recorded strikes, -held from those that nothing was tuned on")
	}
	return f, nil
}

// chosenTraps returns the trap of that name, or all for an empty name; those of takes
// at one tempo, and sweeps.
func chosenTraps(name string) (traps, sweeps []practice.Trap, err error) {
	traps, sweeps = practice.Traps(), practice.Sweeps()
	if name == "" {
		return traps, sweeps, nil
	}
	var names []string
	for _, t := range slices.Concat(traps, sweeps) {
		names = append(names, t.Name)
	}
	other := func(t practice.Trap) bool { return t.Name != name }
	traps, sweeps = slices.DeleteFunc(traps, other), slices.DeleteFunc(sweeps, other)
	if len(traps)+len(sweeps) == 0 {
		return nil, nil, usageError(fmt.Sprintf("there is no trap %q; there are %s", name, strings.Join(names, ", ")))
	}
	return traps, sweeps, nil
}

// listTraps says what is wrong in each trap, and which warnings it must raise.
func listTraps(w io.Writer, traps []practice.Trap) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "trap\twarnings\twhat is wrong")
	for _, trap := range traps {
		fmt.Fprintf(t, "%s\t%s\t%s\n", trap.Name, cmp.Or(strings.Join(trap.Expect, ", "), "-"), trap.About)
	}
	return t.Flush()
}

// measureTraps scores the takes of every trap, in the order of traps and seeds.
func measureTraps(ctx context.Context, traps []practice.Trap, f accuracyFlags) ([]score, error) {
	scores := make([]score, len(traps)*f.takes)
	err := each(ctx, len(scores), func(i int) {
		scores[i] = measureTrap(ctx, traps[i/f.takes], f.first+uint64(i%f.takes))
	})
	if err != nil {
		return nil, err
	}
	for _, s := range scores {
		if s.err != nil {
			return nil, fmt.Errorf("measuring %s with seed %d: %w", s.trap, s.seed, s.err)
		}
	}
	return scores, nil
}

// writeTraps prints a line for each trap, with the sums that have a head; a dash where
// no take has the figure.
func writeTraps(w io.Writer, traps []practice.Trap, scores []score) {
	line := func(name string, takes any, cell func(i int) string) {
		fmt.Fprintf(w, "%-16s %5v", name, takes)
		for i, s := range sums {
			if s.head != "" {
				fmt.Fprintf(w, " %*s", max(6, len(s.head)+1), cell(i))
			}
		}
		fmt.Fprintln(w)
	}
	row := func(name string, scores []score) {
		line(name, len(scores), func(i int) string {
			return cell(sums[i].digits, sums[i].sum(collect(scores, sums[i].of)))
		})
	}
	line("trap", "takes", func(i int) string { return sums[i].head })
	for _, t := range traps {
		row(t.Name, slices.DeleteFunc(slices.Clone(scores), func(s score) bool { return s.trap != t.Name }))
	}
	row("all", scores)
}

// writeBadTakes prints a line for each take that went badly, with what it takes
// to play it again.
func writeBadTakes(w io.Writer, scores []score) {
	for _, s := range scores {
		if s.bad() {
			fmt.Fprintf(w, "-trap %s -seed %d -n 1: %s\n", s.trap, s.seed, s)
		}
	}
}

// cell is a number of a table; "-" where there is none.
func cell(digits int, x float64) string {
	if math.IsNaN(x) {
		return "-"
	}
	return strconv.FormatFloat(x, 'f', digits, 64)
}
