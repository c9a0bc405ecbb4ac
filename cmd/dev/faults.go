package main

import (
	"context"
	"fmt"
	"maps"
	"path"
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
	if err := setUp(ctx, h, append(slices.Clone(buildNeeds), "pulseaudio", "pulseaudio-utils")); err != nil {
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

// fuzz runs each target for a while, which go test tells of as it goes, and ends with
// those that failed. A target holds whatever it is given to a sentence or a result, in
// bounded time and memory. Inputs that once failed lie in testdata/fuzz, and each has a
// plain test too.
func fuzz(ctx context.Context, h *host, args []string) error {
	set := flags()
	each := set.Duration("for", time.Minute, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || *each < time.Second || *each > 24*time.Hour {
		return usageError("usage: fuzz [-for 1m]: how long each target is run, 1s to 24h")
	}
	if err := setUp(ctx, h, buildNeeds); err != nil {
		return err
	}
	declared, err := h.output(ctx, "git", "grep", "--no-index", "-o", "^func.Fuzz[A-Za-z0-9]*", "--", "*_test.go")
	if err != nil {
		return fmt.Errorf("git grep does not find the targets (%w): install git", err)
	}
	var tasks []task
	for line := range strings.Lines(declared) {
		file, name, _ := strings.Cut(strings.TrimSpace(line), ":func ")
		pkg, env := "./"+path.Dir(file), h.childEnv()
		if strings.HasPrefix(pkg, "./calib/") {
			env = append(env, "CGO_ENABLED=0") // the rest needs C, and minutes to compile the first time
		}
		tasks = append(tasks, task{fmt.Sprintf("%s %s for %v", pkg, name, *each), func() error {
			return h.show(ctx, env, "go", "test", "-run", "^$", "-vet=off", "-fuzz", "^"+name+"$", "-fuzztime", each.String(), "-fuzzminimizetime", minimizing, pkg)
		}})
	}
	return h.tasks(ctx, time.Now(), tasks)
}

// minimizing is how many tries go into making an input smaller: by default it would be
// a minute for each, in which nothing else is tried.
const minimizing = "50x"

// soakIn plays loop after loop through the window's model and says whether memory
// or goroutines pile up. Each loop is a machine of its own, played until it is tight,
// with dialogs and set list; each tenth also records a take hands-free. The toolkit
// clears up what it has drawn after a minute, for the soak after a second.
func soakIn(ctx context.Context, h *host, args []string) error {
	set := flags()
	loops := set.Int("loops", 200, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || *loops < 10 {
		return usageError("usage: soak [-loops N]: plays N loops (200), 10 at least, some seconds each")
	}
	h.say("playing %d loops", *loops)
	err := h.show(ctx, []string{"CGO_ENABLED=0", "FYNE_CACHE=1s"}, "go", "test", "-count=1", "-v", "-timeout=0", "-run=^TestSoak$", "./ui", fmt.Sprintf("-soak=%d", *loops))
	if err != nil {
		return fmt.Errorf("something piles up, or the loop did not go to its end (%w); the lines above say more", err)
	}
	return nil
}
