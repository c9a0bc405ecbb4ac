package main

import (
	"context"
	"errors"
	"fmt"
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

// hung is when the tests of a package are given up. It is far more than any needs on a
// busy machine.
const hung = "-timeout=45m"

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
	if err := setUp(ctx, h, slices.Concat(buildNeeds, testNeeds)); err != nil {
		return err
	}
	env, stop, err := testEnv(ctx, h)
	if err != nil {
		return err
	}
	defer stop()
	env = append(env, "LAGWRIGHT_BIN="+h.binary())
	flags, pkgs, err := packages(ctx, h, args)
	if err != nil {
		return err
	}
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
			return errors.Join(h.goTest(ctx, append(env, limit), flags, without, noSkips, "--", "-count=1", "-vet=off", hung),
				h.goTest(ctx, append(env, limit), flags, beside, noSkips, "--", "-count=1", "-vet=off", "-skip="+besideWindow, hung))
		}},
		{"test with the race detector, which takes minutes more to compile the first time", func() error {
			return errors.Join(h.goTest(ctx, append(env, limitRaced), flags, with, noSkips, "--", "-race", "-count=1", "-vet=off", hung),
				h.goTest(ctx, append(env, limitRaced), flags, beside, noSkips, "--", "-race", "-count=1", "-vet=off", "-run="+besideWindow, hung))
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
			return h.goTest(ctx, env, flags, pkgs, "--hide-summary=skipped", "--", "-short", "-vet=off", hung)
		}},
	})
}

// packages are those that args name at their end, all unless they name some, and the
// flags for go test before them.
func packages(ctx context.Context, h *host, args []string) (flags, pkgs []string, err error) {
	n := len(args)
	for n > 0 && isPackage(args[n-1]) {
		n--
	}
	flags, named := args[:n], args[n:]
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

// isPackage tells a package, or a pattern of some, from a flag's value: what -run and
// -bench are told may begin with a point too.
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
// after two dashes, to go test.
func (h *host) goTest(ctx context.Context, env, flags, pkgs []string, how ...string) error {
	if len(pkgs) == 0 {
		return nil
	}
	return h.show(ctx, env, slices.Concat(gotestsum, how, flags, pkgs)...)
}

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
