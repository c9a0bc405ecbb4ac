package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path"
	"regexp"
	"strings"
	"time"
)

// fuzzTarget is a test that takes random input.
type fuzzTarget struct{ pkg, name string }

var fuzzDeclared = regexp.MustCompile(`(?m)^func (Fuzz\w+)\(`)

// fuzzTargets finds all that there are in a checkout.
func fuzzTargets(checkout fs.FS) (targets []fuzzTarget, err error) {
	return targets, fs.WalkDir(checkout, ".", func(name string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, "_test.go") {
			return err
		}
		text, err := fs.ReadFile(checkout, name)
		for _, m := range fuzzDeclared.FindAllSubmatch(text, -1) {
			targets = append(targets, fuzzTarget{"./" + path.Dir(name), string(m[1])})
		}
		return err
	})
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
	targets, err := fuzzTargets(os.DirFS("."))
	if err != nil {
		return err
	}
	var tasks []task
	for _, t := range targets {
		env := h.childEnv()
		if strings.HasPrefix(t.pkg, "./calib/") {
			env = append(env, "CGO_ENABLED=0") // the rest needs C, and minutes to compile the first time
		}
		tasks = append(tasks, task{fmt.Sprintf("%s %s for %v", t.pkg, t.name, *each), func() error {
			return h.show(ctx, env, "go", "test", "-run", "^$", "-vet=off", "-fuzz", "^"+t.name+"$", "-fuzztime", each.String(), "-fuzzminimizetime", minimizing, t.pkg)
		}})
	}
	return h.tasks(ctx, time.Now(), tasks)
}

// minimizing is how many tries go into making an input smaller: by default it would be
// a minute for each, in which nothing else is tried.
const minimizing = "50x"
