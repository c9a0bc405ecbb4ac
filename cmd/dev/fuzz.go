package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"
)

// fuzzTarget is a test that takes random input.
type fuzzTarget struct{ pkg, name string }

// fuzzTargets are all that there are.
var fuzzTargets = []fuzzTarget{
	{"./calib/take", "FuzzScan"},
	{"./calib/take", "FuzzOpen"},
	{"./calib/session", "FuzzDecode"},
	{"./calib/session", "FuzzSession"},
	{"./calib/session", "FuzzReadSongs"},
	{"./calib/session", "FuzzImport"},
	{"./cmd/lagwright", "FuzzCommandLine"},
}

// fuzzed is how a target fared.
type fuzzed struct {
	fuzzTarget
	executions, found int    // found are the inputs that reached code that none had reached
	wrong             string // what failed; nothing where all held
}

// fuzz runs each target for a while and says how it fared. A target holds whatever it
// is given to a sentence or a result, in bounded time and memory. Inputs that once
// failed lie in testdata/fuzz, and each has a plain test too.
func fuzz(ctx context.Context, h *host, args []string) error {
	each, err := parseFuzz(args)
	if err != nil {
		return err
	}
	if err := setUp(ctx, h, buildNeeds); err != nil {
		return err
	}
	var all []fuzzed
	for _, t := range fuzzTargets {
		h.say("%s %s for %v", t.pkg, t.name, each)
		f, err := fuzzOne(ctx, h, t, each)
		if err != nil {
			return err
		}
		all = append(all, f)
	}
	fuzzTable(h.stdout, all)
	if slices.ContainsFunc(all, func(f fuzzed) bool { return f.wrong != "" }) {
		return exitStatus(1)
	}
	return nil
}

func parseFuzz(args []string) (each time.Duration, err error) {
	set := flag.NewFlagSet("fuzz", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.DurationVar(&each, "for", time.Minute, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || each < time.Second || each > 24*time.Hour {
		return 0, usageError("usage: fuzz [-for 1m]: how long each target is run, 1s to 24h")
	}
	return each, nil
}

// minimizing is how many tries go into making an input smaller: by default it would be
// a minute for each, in which nothing else is tried.
const minimizing = "50x"

func fuzzOne(ctx context.Context, h *host, t fuzzTarget, each time.Duration) (fuzzed, error) {
	var out strings.Builder
	env := h.childEnv()
	if strings.HasPrefix(t.pkg, "./calib/") {
		env = append(env, "CGO_ENABLED=0") // the rest needs C, and minutes to compile the first time
	}
	c := command{args: []string{"go", "test", "-run", "^$", "-vet=off", "-fuzz", "^" + t.name + "$", "-fuzztime", each.String(), "-fuzzminimizetime", minimizing, t.pkg},
		env: env, stdout: &out, stderr: &out}
	ran := h.runner.run(ctx, c)
	if ctx.Err() != nil {
		return fuzzed{}, ctx.Err()
	}
	f := fuzzed{fuzzTarget: t}
	if counts := fuzzCounts.FindAllStringSubmatch(out.String(), -1); len(counts) > 0 {
		last := counts[len(counts)-1]
		f.executions, _ = strconv.Atoi(last[1])
		f.found, _ = strconv.Atoi(last[2])
	}
	switch {
	case ran != nil:
		f.wrong = fuzzComplaint(out.String(), t.pkg)
	case f.executions == 0:
		f.wrong = "nothing was tried"
	}
	return f, nil
}

var (
	fuzzCounts  = regexp.MustCompile(`execs: (\d+) .*new interesting: (\d+)`)
	fuzzFailing = regexp.MustCompile(`Failing input written to (\S+)`)
)

// fuzzComplaint says in one line what go test complained of and where the input is
// that made it.
func fuzzComplaint(out, pkg string) string {
	what := "it failed"
	for line := range strings.Lines(out) {
		if line = strings.TrimSpace(line); strings.Contains(line, "_test.go:") || strings.HasPrefix(line, "panic: ") || strings.Contains(line, "terminated unexpectedly") {
			what = line
			break
		}
	}
	if m := fuzzFailing.FindStringSubmatch(out); m != nil {
		what += fmt.Sprintf(" (%s/%s)", pkg, m[1])
	}
	return what
}

// fuzzTable writes a line for each target.
func fuzzTable(w io.Writer, all []fuzzed) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "target\texecutions\tnew inputs\tfailed")
	for _, f := range all {
		wrong := f.wrong
		if wrong == "" {
			wrong = "nothing"
		}
		fmt.Fprintf(t, "%s %s\t%d\t%d\t%s\n", f.pkg, f.name, f.executions, f.found, wrong)
	}
	t.Flush()
}
