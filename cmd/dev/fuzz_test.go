package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func TestFuzzRefusesBadArguments(t *testing.T) {
	for _, args := range [][]string{{"more"}, {"-for", "soon"}, {"-for", "0s"}, {"-for", "48h"}} {
		h, p := bare()
		err := fuzz(t.Context(), h, args)
		if _, ok := errors.AsType[usageError](err); !ok || len(p.ran) > 0 {
			t.Errorf("%q: %v and ran %q, want a usage error and nothing", args, err, p.lines())
		}
	}
}

// fuzzLine is the command that fuzzes the target at an index for 2 s.
func fuzzLine(i int) string {
	return "go test -run ^$ -vet=off -fuzz ^" + fuzzTargets[i].name + "$ -fuzztime 2s -fuzzminimizetime 50x " + fuzzTargets[i].pkg
}

// Each target has its turn, whatever became of those before; one that fails is named
// and fails the verb.
func TestFuzzRunsEachTarget(t *testing.T) {
	h, p := bare()
	furnish(p)
	if err := fuzz(t.Context(), h, []string{"-for", "2s"}); err != nil {
		t.Errorf("%v where nothing fails", err)
	}
	p.fails[fuzzLine(1)] = exitStatus(1)
	if status := report(h.stderr, fuzz(t.Context(), h, []string{"-for", "2s"})); status != 1 || !strings.Contains(p.said(), "failed: ./calib/take FuzzOpen for 2s") {
		t.Errorf("exit status %d where one fails, said\n%s", status, p.said())
	}
	for i := range 2 * len(fuzzTargets) {
		if want := fuzzLine(i % len(fuzzTargets)); p.lines()[i] != want {
			t.Errorf("ran %q, want %q", p.lines()[i], want)
		}
	}
}

// Every target there is gets its turn.
func TestFuzzTargetsAreAll(t *testing.T) {
	root := houseRoot(t)
	declared := regexp.MustCompile(`(?m)^func (Fuzz\w+)\(`)
	var found []fuzzTarget
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		dir, err := filepath.Rel(root, filepath.Dir(path))
		for _, m := range declared.FindAllStringSubmatch(string(text), -1) {
			found = append(found, fuzzTarget{"./" + filepath.ToSlash(dir), m[1]})
		}
		return err
	})
	if err != nil || len(found) != len(fuzzTargets) {
		t.Errorf("%d targets declared, %d listed (%v)", len(found), len(fuzzTargets), err)
	}
	for _, f := range found {
		if !slices.Contains(fuzzTargets, f) {
			t.Errorf("%s %s is not run by the verb", f.pkg, f.name)
		}
	}
}
