package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"time"
)

// gotestsum runs go test, shows what failed and counts. It is run at its version and
// not a tool of go.mod, where its dependencies would choose versions for the product's
// and stand among the licences to be given.
var gotestsum = []string{"go", "run", "gotest.tools/gotestsum@v1.13.0", "--format=pkgname"}

// noSkips fails a run in which a test was skipped: what it needed was absent, so it
// said nothing.
const noSkips = `--post-run-command=sh -c 'test "$TESTS_SKIPPED" = 0 || { echo "skipped tests count as failed: what they need is not here"; exit 1; }'`

// testFlags are given to every go test. What is vetted is so once, by a task of its own; what
// only a debugger reads takes the linker a third of its time; a package is given up after
// far more than any needs on a busy machine.
var testFlags = []string{"-vet=off", "-ldflags=-w", "-timeout=45m"}

// Memory at which the tests' garbage is collected oftener. The race detector adds
// several times as much that it does not count.
const (
	limit      = "GOMEMLIMIT=1GiB"
	limitRaced = "GOMEMLIMIT=400MiB"
)

// raced are the packages that are tested under the race detector, and why. It makes
// them several times as slow, so all others go without.
var raced = map[string]string{
	"calib/bench":          "voices are measured side by side, and windows look while a change is saved",
	"calib/capture":        "the device's thread fills a ring that the drain empties",
	"calib/capture/device": "the device's thread calls back",
	"calib/live":           "a take is recorded, heard and shown at the same time",
	"calib/ring":           "one thread puts what another takes",
	"calib/playback":       "the device's thread plays what others choose",
	"calib/machine":        "windows save and read at the same time, and give up reading",
	"calib/take":           "the disk is asked to keep a take that grows",
	windowTests:            "sound comes and goes beside the window; all else its tests run in place",
	"ui/logbook":           "anything writes into one log",
}

// windowTests is the package of which only those tests run under the race detector in which
// something goes on beside it: the others take minutes there and show nothing.
const (
	windowTests  = "ui"
	besideWindow = "^Test(Record|Live|Microphones|Listening)"
)

// needC are the packages that are nothing without C.
var needC = []string{"calib/capture/device", "cmd/lagwright"}

// test does everything a change must pass. It goes on after a failure, so that one
// run tells all.
func test(ctx context.Context, h *host, args []string) error {
	quick := len(args) > 0 && args[0] == "-quick"
	if quick {
		return testQuick(ctx, h, args[1:])
	}
	start := time.Now()
	env, flags, pkgs, stop, err := forTests(ctx, h, slices.Concat(buildNeeds, testNeeds), args)
	if err != nil {
		return err
	}
	defer stop()
	env = append(env, "LAGWRIGHT_BIN="+h.binary())
	var without, with, beside []string
	for _, pkg := range pkgs {
		switch name := short(pkg); {
		case raced[name] == "":
			without = append(without, pkg)
		case name == windowTests:
			beside = append(beside, pkg)
		default:
			with = append(with, pkg)
		}
	}
	return h.tasks(ctx, start, []task{
		{"format", func() error { return checkFormat(ctx, h) }},
		{"build, about 5 minutes the first time", func() error { return build(ctx, h) }},
		{"vet", func() error { return h.show(ctx, env, "go", "vet", "./...") }},
		{"test without the race detector", func() error {
			return errors.Join(h.goTest(ctx, append(env, limit), flags, without, noSkips, "--", "-count=1"),
				h.goTest(ctx, append(env, limit), flags, beside, noSkips, "--", "-count=1", "-skip="+besideWindow))
		}},
		{"test with the race detector, which takes minutes more to compile the first time", func() error {
			return errors.Join(h.goTest(ctx, append(env, limitRaced), flags, with, noSkips, "--", "-race", "-count=1"),
				h.goTest(ctx, append(env, limitRaced), flags, beside, noSkips, "--", "-race", "-count=1", "-run="+besideWindow))
		}},
	})
}

// testQuick tests what needs neither C nor a screen nor sound. Tests that are not for
// it skip themselves where testing.Short says so; results of what did not change are
// those of the time before.
func testQuick(ctx context.Context, h *host, args []string) error {
	start := time.Now()
	flags, pkgs, err := packages(ctx, h, args)
	if err != nil {
		return err
	}
	pkgs = slices.DeleteFunc(pkgs, func(pkg string) bool { return slices.Contains(needC, short(pkg)) })
	env := append(h.childEnv(), limit, "CGO_ENABLED=0")
	return h.tasks(ctx, start, []task{
		{"format", func() error { return checkFormat(ctx, h) }},
		{"vet", func() error { return h.show(ctx, env, slices.Concat([]string{"go", "vet"}, pkgs)...) }}, // once: beside each test it takes longer
		{"test", func() error {
			return h.goTest(ctx, env, flags, pkgs, "--hide-summary=skipped", "--", "-short")
		}},
	})
}

// forTests sees to what tests need, and returns their environment, what of args are flags for
// go test, and the packages that they name. stop ends what was begun for them.
func forTests(ctx context.Context, h *host, needs, args []string) (env, flags, pkgs []string, stop func(), err error) {
	if flags, pkgs, err = packages(ctx, h, args); err == nil {
		err = setUp(ctx, h, needs)
	}
	if err == nil {
		env, stop, err = testEnv(ctx, h)
	}
	return env, flags, pkgs, stop, err
}

// packages are those that args name, all unless they name some, and the other arguments,
// which are flags for go test.
func packages(ctx context.Context, h *host, args []string) (flags, pkgs []string, err error) {
	flags = slices.DeleteFunc(slices.Clone(args), isPackage)
	named := slices.DeleteFunc(slices.Clone(args), func(arg string) bool { return !isPackage(arg) })
	if len(named) == 0 {
		named = []string{"./..."}
	}
	var list strings.Builder // with cgo, which listing does without, or what needs it is an error
	c := command{args: append([]string{"go", "list"}, named...), env: h.childEnv(), stdout: &list, stderr: h.stderr}
	if err := h.runner.run(ctx, c); err != nil {
		return nil, nil, fmt.Errorf("go list finds no packages called %q (%w)", named, err)
	}
	return flags, strings.Fields(list.String()), nil
}

// isPackage tells a package, or a pattern of some, from flags and their values; a file that
// a flag names stands behind an equals sign.
func isPackage(arg string) bool {
	return strings.HasPrefix(arg, "./") || strings.HasPrefix(arg, "../") || within(arg, module)
}

// module is the path of all packages of ours.
const module = "lagwright"

// within reports whether a package is dir or lies below it.
func within(pkg, dir string) bool { return pkg == dir || strings.HasPrefix(pkg, dir+"/") }

// short is a package's path within the module.
func short(pkg string) string { return strings.TrimPrefix(pkg, module+"/") }

// goTest runs the tests of packages, if there are any; how is told to gotestsum and,
// after two dashes, to go test. The error names what failed, because a log may be seen
// by its end alone.
func (h *host) goTest(ctx context.Context, env, flags, pkgs []string, how ...string) error {
	if len(pkgs) == 0 {
		return nil
	}
	var out strings.Builder
	c := command{args: slices.Concat(gotestsum, how, testFlags, flags, pkgs), env: env, stdin: os.Stdin, stdout: io.MultiWriter(h.stdout, &out), stderr: h.stderr}
	err := h.runner.run(ctx, c)
	if err != nil {
		for _, failed := range failure.FindAllString(out.String(), -1) {
			err = fmt.Errorf("%w\n%s", err, failed)
		}
	}
	return err
}

// failure is how gotestsum's summary names what failed or was skipped, and what it first said.
var failure = regexp.MustCompile(`(?m)^=== (FAIL|SKIP|Errors).*(\n.{1,300}){0,3}`)

// testEnv is the environment of the tests. On Linux a screen of their own belongs to
// it, at a fixed scale and under X11, where xdotool can reach it.
func testEnv(ctx context.Context, h *host) (env []string, stop func(), err error) {
	env = h.childEnv()
	if h.goos != "linux" {
		return env, func() {}, nil
	}
	display, stop, err := h.screen(ctx)
	if err != nil {
		return nil, nil, err
	}
	return append(env, "DISPLAY="+display, "FYNE_PLATFORM=x11", "FYNE_SCALE=1"), stop, nil
}

// checkFormat names the files that are not as gofmt writes them.
func checkFormat(ctx context.Context, h *host) error {
	names, err := h.output(ctx, "gofmt", "-l", ".")
	if err == nil && names != "" {
		err = fmt.Errorf("run gofmt -w %s", strings.ReplaceAll(names, "\n", " "))
	}
	return err
}

// task is a part of a verb that is done whatever became of those before.
type task struct {
	name string
	do   func() error
}

// tasks does one after the other and ends with a table of what became of each, how long
// all took and the verdict.
func (h *host) tasks(ctx context.Context, start time.Time, tasks []task) error {
	table, verdict := "", "PASS"
	for _, t := range tasks {
		began := time.Now()
		h.say("== %s", t.name)
		err := t.do()
		if ctx.Err() != nil {
			h.say("%s", table)
			return fmt.Errorf("interrupted after %s", time.Since(start).Round(time.Second))
		}
		line := fmt.Sprintf("passed: %s", t.name)
		if err != nil {
			line, verdict = fmt.Sprintf("failed: %s: %v", t.name, err), "FAIL"
		}
		table += fmt.Sprintf("%8s  %s\n", time.Since(began).Round(time.Second), line)
	}
	h.say("%s%8s  in all\n%s", table, time.Since(start).Round(time.Second), verdict)
	if verdict == "FAIL" {
		return exitStatus(1)
	}
	return nil
}

// exhaustive are the verbs that try all there is, in the order deep runs them, and last all
// other tests, with how long each takes on a computer of two processors that has other
// things to do as well. fuzz compiles for as long again the first time.
var exhaustive = []struct {
	name    string
	minutes float64
}{
	{"accuracy", 4}, {"study", 3}, {"bench", 3}, {"faults", 9}, {"fuzz", 9}, {"soak", 6}, {"tests", 6},
}

// deep runs every exhaustive verb, then every other test with all there is to try; or
// those of them that are named.
func deep(ctx context.Context, h *host, args []string) error {
	var tasks []task
	var names []string
	minutes := 0.0
	for _, e := range exhaustive {
		if names = append(names, e.name); len(args) > 0 && !slices.Contains(args, e.name) {
			continue
		}
		run := testDeep
		if v, is := verbCalled(e.name); is {
			run = v.run
		}
		minutes += e.minutes
		tasks = append(tasks, task{fmt.Sprintf("%s, %g minutes", e.name, e.minutes), func() error { return run(ctx, h, nil) }})
	}
	if len(tasks) < len(args) {
		return usageError("usage: deep [PART...]: runs all that is exhaustive, or of it " + strings.Join(names, ", "))
	}
	h.say("this takes about %.0f minutes", minutes)
	return h.tasks(ctx, time.Now(), tasks)
}

// testDeep runs the tests that need no C and that faults does not run, with all there is
// to try.
func testDeep(ctx context.Context, h *host, _ []string) error {
	env, _, pkgs, stop, err := forTests(ctx, h, testNeeds, nil)
	if err != nil {
		return err
	}
	defer stop()
	broken := func(pkg string) bool {
		return slices.Contains(deepPackages, "./"+short(pkg)) || within(short(pkg), "internal")
	}
	pkgs = slices.DeleteFunc(pkgs, func(pkg string) bool { return broken(pkg) || slices.Contains(needC, short(pkg)) })
	return h.goTest(ctx, append(env, limit, "CGO_ENABLED=0", deepEnv), []string{"-timeout=0"}, pkgs, noSkips, "--", "-count=1")
}
