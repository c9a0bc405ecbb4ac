package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

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
	if err := setUp(ctx, h, testNeeds); err != nil {
		return err
	}
	env, stop, err := testEnv(ctx, h)
	if err != nil {
		return err
	}
	defer stop()
	_, pkgs, err := packages(ctx, h, nil)
	if err != nil {
		return err
	}
	broken := func(pkg string) bool {
		return slices.Contains(deepPackages, "./"+short(pkg)) || within(short(pkg), "internal")
	}
	pkgs = slices.DeleteFunc(pkgs, func(pkg string) bool { return broken(pkg) || slices.Contains(needC, short(pkg)) })
	return h.goTest(ctx, append(env, limit, "CGO_ENABLED=0", deepEnv), nil, pkgs, noSkips, "--", "-count=1", "-vet=off", "-timeout=0")
}
