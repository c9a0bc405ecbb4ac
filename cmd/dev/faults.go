package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"lagwright/internal/target"
)

// deepEnv asks the tests for all there is of what they try a seeded sample of
// otherwise: every call of every save, a thousand kills, megabytes of everything.
const deepEnv = "LAGWRIGHT_DEEP=1"

// recordingTests break recordings, by the program itself; deepPackages are all that
// break files, folders and recordings.
const recordingTests = "./calib/capture"

var deepPackages = []string{recordingTests, "./calib/session", "./calib/take", "./calib/bench", "./internal/..."}

// leastTried is how many faults and inputs the tests try at least, most of them
// windows killed while they save.
const leastTried = 1000

// What tests log for this verb: what they tried, and figures.
var (
	triedLine  = regexp.MustCompile(`tried: (.+) \| (\d+) \| (.+)`)
	failedLine = regexp.MustCompile(`(?m)^--- FAIL: (\S+)`) // as go test -v names a test
)

// tryFaults has the tests break recordings, saves and what they read, in all the ways
// there are, and says what is left. FAULTS.md beside this file says what, and what must
// be left.
func tryFaults(ctx context.Context, h *host, args []string) error {
	env, pkgs, err := parseFaults(args)
	if err != nil {
		return err
	}
	if h.goos != "linux" {
		return usageError("faults tries recording with a PulseAudio server of its own, which there is on Linux only")
	}
	if err := setUp(ctx, h, slices.Concat(buildNeeds, needsOf("pulseaudio", "pulseaudio-utils"))); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "lagwright-faults")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	bin := binary(h, dir)
	if err := build(ctx, h, bin); err != nil {
		return err
	}
	h.say("%s", env[0])
	var log strings.Builder
	for _, pkg := range pkgs {
		out, err := goTestDeep(ctx, h, pkg, append(env, "LAGWRIGHT_BIN="+bin)...)
		if err != nil {
			return err
		}
		log.WriteString(out)
	}
	figures := faultsTable(h.stdout, log.String(), len(pkgs) > 1)
	return h.verdict(figures)
}

// parseFaults reads the verb's arguments into the environment and the packages of the
// tests. Moments are others in each run unless a seed is given.
func parseFaults(args []string) (env, pkgs []string, err error) {
	set := flags()
	seed := set.Uint64("seed", uint64(time.Now().UnixNano()), "")
	minutes := set.Float64("minutes", 0, "")
	if err = set.Parse(args); err != nil || set.NArg() > 0 || *minutes != 0 && !(*minutes >= 2 && *minutes <= 24*60) {
		return nil, nil, usageError("usage: faults [-seed N] [-minutes LENGTH]: -minutes only records in real time, for so long, 2 at least, at 17 MB of disk a minute")
	}
	env = []string{fmt.Sprintf("LAGWRIGHT_SEED=%d", *seed), deepEnv}
	if *minutes > 0 {
		return append(env, fmt.Sprintf("LAGWRIGHT_LONG=%g", *minutes)), []string{recordingTests}, nil
	}
	return env, deepPackages, nil
}

// goTestDeep returns what the tests of a package say, and shows it where some fail. An
// error is that they did not run.
func goTestDeep(ctx context.Context, h *host, pkg string, env ...string) (string, error) {
	h.say("all tests of %s", pkg)
	var log strings.Builder
	c := command{args: []string{"go", "test", "-count=1", "-vet=off", "-v", "-p=1", "-timeout=0", pkg},
		env: slices.Concat(h.childEnv(), []string{"CGO_ENABLED=0"}, env), stdout: &log, stderr: h.stderr}
	ran := h.runner.run(ctx, c)
	if ran != nil && !failedLine.MatchString(log.String()) {
		return "", fmt.Errorf("the tests of %s did not run to their end (%w):\n%s", pkg, ran, log.String())
	}
	if ran != nil {
		h.say("%s", log.String())
	}
	return log.String(), ctx.Err()
}

// faultsTable writes a row for each kind of fault and returns the figures: those that
// the tests log, how much was tried, where that has a target, and how many tests failed.
func faultsTable(w io.Writer, log string, whole bool) (figures []target.Figure) {
	type row struct {
		times    int
		happened string
	}
	rows, kinds, all := map[string]row{}, []string(nil), 0
	for _, m := range triedLine.FindAllStringSubmatch(log, -1) {
		kind := m[1]
		n, _ := strconv.Atoi(m[2])
		if _, known := rows[kind]; !known {
			kinds = append(kinds, kind)
		}
		rows[kind] = row{rows[kind].times + n, m[3]}
		all += n
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "fault or input\ttimes\twhat happened, at last")
	for _, kind := range kinds {
		fmt.Fprintf(t, "%s\t%d\t%s\n", kind, rows[kind].times, rows[kind].happened)
	}
	failed := failedLine.FindAllStringSubmatch(log, -1)
	for _, m := range failed {
		fmt.Fprintf(t, "%s\t\tfailed: go test -v -run '^%s$' with %s\n", m[1], m[1], deepEnv)
	}
	t.Flush()
	figures = target.Logged(log)
	tried := target.Plain("faults_tried", float64(all), "faults and inputs")
	if whole {
		tried = target.AtLeast(tried.Name, tried.Value, tried.Unit, leastTried)
	}
	return append(figures, tried, target.AtMost("faults_wrong", float64(len(failed)), "tests", 0))
}
