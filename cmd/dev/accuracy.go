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
)

// accuracyFlags is what the accuracy verb can be told.
type accuracyFlags struct {
	takes   int    // per trap
	first   uint64 // seed of the first take of each trap
	trap    string // empty = all
	verbose bool
	list    bool // say what the traps are, and measure nothing
}

// accuracy measures seeded takes of the simulated machine, trap by trap, and
// compares what is measured with what was played. TRAPS.md in calib/practice says
// how, and what the columns mean.
func accuracy(ctx context.Context, h *host, args []string) error {
	f, err := parseAccuracy(args)
	if err != nil {
		return err
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
	err = set.Parse(args)
	if err != nil || set.NArg() > 0 || f.takes < 1 {
		return f, usageError("usage: accuracy [-n TAKES-PER-TRAP] [-seed FIRST] [-trap NAME] [-v] [-list]: -v lists the takes that went badly, -list only says what the traps are")
	}
	return f, nil
}

// chosenTraps returns the trap of that name, or all for an empty name.
func chosenTraps(name string) (chosen []practice.Trap, err error) {
	var names []string
	for _, t := range practice.Traps() {
		if names = append(names, t.Name); name == "" || name == t.Name {
			chosen = append(chosen, t)
		}
	}
	if len(chosen) == 0 {
		err = usageError(fmt.Sprintf("there is no trap %q; there are %s", name, strings.Join(names, ", ")))
	}
	return chosen, err
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
			x := sums[i].sum(collect(scores, sums[i].of))
			if math.IsNaN(x) {
				return "-"
			}
			return strconv.FormatFloat(x, 'f', sums[i].digits, 64)
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
