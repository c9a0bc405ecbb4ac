package main

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"
)

// testTimeout is how long the tests of one package may take. The race detector
// makes them several times slower.
const testTimeout = "20m"

// test does everything a change must pass. It goes on after a failure, so that
// one run tells all.
func test(ctx context.Context, h *host, args []string) error {
	start := time.Now()
	if err := setUp(ctx, h, slices.Concat(buildNeeds, testNeeds)); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "lagwright-test")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	env, stop, err := testEnv(ctx, h)
	if err != nil {
		return err
	}
	defer stop()
	s := checkAll(ctx, h, binary(h, dir), env, args)
	s.took = time.Since(start)
	if ctx.Err() != nil {
		return fmt.Errorf("interrupted after %s", s.took.Round(time.Second))
	}
	s.write(h.stdout)
	if !s.passed() {
		return exitStatus(1)
	}
	return nil
}

// testEnv is the environment of the tests. On Linux a screen of their own
// belongs to it, at a fixed scale and under X11, where xdotool can reach it.
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

// checkAll does the checks in turn. The tests find the built program by the
// variable LAGWRIGHT_BIN.
func checkAll(ctx context.Context, h *host, bin string, env, args []string) summary {
	s := summary{tally: newTally(h.stdout), race: raceWorks(ctx, h, env)}
	step := func(name string, job func() error) {
		h.say("== %s", name)
		s.checks = append(s.checks, check{name, job()})
	}
	step("format", func() error { return checkFormat(h) })
	step("build", func() error {
		h.say("  about 5 minutes the first time, a few seconds later on")
		return build(ctx, h, bin)
	})
	step("vet", func() error {
		return patiently(h, "vetting", func() error { return h.show(ctx, env, "go", "vet", "./...") })
	})
	step("test", func() error {
		if s.race {
			h.say("  with the race detector, which takes 5 minutes more to compile the first time")
		}
		c := command{args: goTest(s.race, args), env: append(env, "LAGWRIGHT_BIN="+bin), stdout: s.tally, stderr: h.stderr}
		h.say("  $ %s", c)
		return h.runner.run(ctx, c)
	})
	return s
}

// checkFormat names the files that are not as gofmt writes them.
func checkFormat(h *host) error {
	names, err := unformatted(h.module)
	if err == nil && len(names) > 0 {
		err = fmt.Errorf("run gofmt -w %s", strings.Join(names, " "))
	}
	return err
}

// raceWorks reports whether the race detector can be used here. The go command
// knows, and says so before it compiles anything.
func raceWorks(ctx context.Context, h *host, env []string) bool {
	return h.runner.run(ctx, command{args: []string{"go", "list", "-race", "runtime"}, env: env}) == nil
}

// goTest is the command that runs the tests. Results kept from an earlier run
// are not used: the tests also depend on programs and files that the go command
// does not see. Vetting was a step of its own.
func goTest(race bool, args []string) []string {
	c := []string{"go", "test", "-json", "-count=1", "-vet=off", "-timeout=" + testTimeout}
	if race {
		c = append(c, "-race")
	}
	if len(args) == 0 {
		args = []string{"./..."}
	}
	return append(c, args...)
}
