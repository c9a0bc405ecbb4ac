package main

import (
	"context"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"lagwright/internal/target"
)

// deepEnv asks the tests for all there is of what they try a seeded sample of
// otherwise: every call of every save, a thousand kills, megabytes of everything.
const deepEnv = "LAGWRIGHT_DEEP=1"

// recordingTests break recordings, by the program itself; deepPackages are all that
// break files, folders and recordings.
const recordingTests = "./calib/capture"

var deepPackages = []string{recordingTests, "./calib/machine", "./calib/take", "./calib/bench", "./internal/..."}

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
// be left. Moments are others in each run unless a seed is given.
func tryFaults(ctx context.Context, h *host, args []string) error {
	set := flags()
	seed, minutes := set.Uint64("seed", uint64(time.Now().UnixNano()), ""), set.Float64("minutes", 0, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || *minutes != 0 && !(*minutes >= 2 && *minutes <= 24*60) {
		return usageError("usage: faults [-seed N] [-minutes LENGTH]: -minutes only records in real time, for so long, 2 at least, at 17 MB of disk a minute")
	}
	env, pkgs := []string{fmt.Sprintf("LAGWRIGHT_SEED=%d", *seed), deepEnv, "LAGWRIGHT_BIN=" + h.binary()}, deepPackages
	if *minutes > 0 {
		env, pkgs = append(env, fmt.Sprintf("LAGWRIGHT_LONG=%g", *minutes)), []string{recordingTests}
	}
	if h.goos != "linux" {
		return usageError("faults tries recording with a PulseAudio server of its own, which there is on Linux only")
	}
	if err := setUp(ctx, h, slices.Concat(buildNeeds, needsOf("pulseaudio", "pulseaudio-utils"))); err != nil {
		return err
	}
	if err := build(ctx, h); err != nil {
		return err
	}
	h.say("%s", env[0])
	var log strings.Builder
	for _, pkg := range pkgs {
		out, err := goTestDeep(ctx, h, pkg, env...)
		if err != nil {
			return err
		}
		log.WriteString(out)
	}
	return h.verdict(faultFigures(h, log.String(), len(pkgs) > 1))
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

// faultFigures says each kind of fault or input once, as it went at last, and returns the
// figures: those that the tests log, how much was tried, where that has a target, and how
// many tests failed.
func faultFigures(h *host, log string, whole bool) []target.Figure {
	last, all := map[string]string{}, 0
	for _, m := range triedLine.FindAllStringSubmatch(log, -1) {
		n, _ := strconv.Atoi(m[2])
		last[m[1]], all = m[3], all+n
	}
	for _, kind := range slices.Sorted(maps.Keys(last)) {
		h.say("  %s: %s", kind, last[kind])
	}
	failed := failedLine.FindAllStringSubmatch(log, -1)
	for _, m := range failed {
		h.say("  failed: go test -v -run '^%s$' with %s", m[1], deepEnv)
	}
	tried := target.Plain("faults_tried", float64(all), "faults and inputs")
	if whole {
		tried = target.AtLeast(tried.Name, tried.Value, tried.Unit, leastTried)
	}
	return append(target.Logged(log), tried, target.AtMost("faults_wrong", float64(len(failed)), "tests", 0))
}
