package main

import (
	"context"
	"fmt"
	"path"
	"strings"
	"time"
)

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
