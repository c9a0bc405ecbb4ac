package main

import (
	"context"
	"fmt"
	"slices"
	"time"
)

// exhaustive are the verbs that try all there is, in the order deep runs them, and last all
// other tests, with how long each takes on a computer of two processors with nothing else
// to do.
var exhaustive = []struct {
	name    string
	minutes float64
}{
	{"accuracy", 4}, {"study", 1}, {"bench", 5}, {"faults", 15}, {"fuzz", 8}, {"soak", 8}, {"tests", 15},
}

// deep runs every exhaustive verb, then every other test with all there is to try.
func deep(ctx context.Context, h *host, args []string) error {
	if len(args) > 0 {
		return usageError("usage: deep: runs all that is exhaustive; each of its verbs can be run by itself")
	}
	var tasks []task
	minutes := 0.0
	for _, e := range exhaustive {
		v, is := verbCalled(e.name)
		if !is {
			v = verb{e.name, "all there is of what the other packages try a sample of", testDeep}
		}
		minutes += e.minutes
		tasks = append(tasks, task{fmt.Sprintf("%s (%g minutes): %s", v.name, e.minutes, v.does), func() error { return v.run(ctx, h, nil) }})
	}
	h.say("all of it takes about %.0f minutes", minutes)
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
