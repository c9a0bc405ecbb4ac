package main

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"lagwright/calib/practice"
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
	traps, err := chosenTraps(f.trap)
	if err != nil {
		return err
	}
	if f.list {
		return listTraps(h.stdout, traps)
	}
	scores, err := measureTraps(ctx, traps, f)
	if err != nil {
		return err
	}
	if f.verbose {
		writeBadTakes(h.stdout, scores)
	}
	writeTraps(h.stdout, traps, scores)
	figures := accuracyFigures(scores)
	if f.trap == "" {
		jitter, err := jitterFigures(ctx)
		if err != nil {
			return err
		}
		figures = append(figures, jitter...)
	}
	for _, fig := range figures {
		h.say("%s", fig)
	}
	return missed(figures)
}

// parseAccuracy reads the verb's arguments. Twelve takes a trap make more than
// the 500 that the targets are stated for.
func parseAccuracy(args []string) (f accuracyFlags, err error) {
	set := flag.NewFlagSet("accuracy", flag.ContinueOnError)
	set.SetOutput(io.Discard)
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

// chosenTraps returns the trap of that name, or all for an empty name.
func chosenTraps(name string) ([]practice.Trap, error) {
	all := practice.Traps()
	if name == "" {
		return all, nil
	}
	var names []string
	for _, t := range all {
		if t.Name == name {
			return []practice.Trap{t}, nil
		}
		names = append(names, t.Name)
	}
	return nil, usageError(fmt.Sprintf("there is no trap %q; there are %s", name, strings.Join(names, ", ")))
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

// writeTraps prints a line for each trap.
func writeTraps(w io.Writer, traps []practice.Trap, scores []score) {
	fmt.Fprintf(w, "%-16s %5s  %8s %8s %8s %9s %7s  %5s  %8s  %4s %4s %4s  %6s %6s  %7s\n", "trap", "takes",
		"lag med", "95%", "worst", "undoubted", "refused", "F", "tempo %", "law", "own", "hits", "warned", "extra", "ms/take")
	for _, t := range traps {
		of := func(s score) bool { return s.trap != t.Name }
		writeRow(w, t.Name, slices.DeleteFunc(slices.Clone(scores), of))
	}
	writeRow(w, "all", scores)
}

// writeRow prints the figures of a group of takes: errors of the lag in ms, of
// the tempo as the 95 % point, and shares in %.
func writeRow(w io.Writer, name string, scores []score) {
	var took time.Duration
	for _, s := range scores {
		took += s.took
	}
	lags := collect(scores, score.lag)
	fmt.Fprintf(w, "%-16s %5d  %8s %8s %8s %9s %7d  %5s  %8s  %4s %4s %4s  %6s %6s  %7.0f\n", name, len(scores),
		cell(3, quantile(lags, 0.5)), cell(3, quantile(lags, 0.95)), cell(2, quantile(finite(lags), 1)),
		cell(2, quantile(collect(scores, score.undoubted), 1)), len(lags)-len(finite(lags)),
		cell(3, mean(collect(scores, score.onsets))), cell(3, quantile(collect(scores, score.tempo), 0.95)),
		cell(0, 100*mean(collect(scores, score.coversLaw))), cell(0, 100*mean(collect(scores, score.coversOwn))),
		cell(0, 100*mean(collect(scores, score.coversHits))),
		cell(0, 100*mean(collect(scores, score.warned))), cell(0, 100*mean(collect(scores, score.alarmed))),
		took.Seconds()*1000/float64(len(scores)))
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
