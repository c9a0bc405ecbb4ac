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
		h, p := bare(debianRelease, "apt-get")
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

// A line for each target says what was tried and what failed, and a failure is the
// verb's.
func TestFuzzSaysHowEachTargetFared(t *testing.T) {
	const fine = "fuzz: elapsed: 1s, execs: 10 (10/sec), new interesting: 1 (total: 9)\nfuzz: elapsed: 2s, execs: 4321 (99/sec), new interesting: 17 (total: 25)\nPASS\n"
	const failing = "fuzz: elapsed: 1s, execs: 77 (10/sec), new interesting: 3 (total: 9)\n--- FAIL: FuzzOpen (0.1s)\n    --- FAIL: FuzzOpen (0.00s)\n        fuzz_test.go:68: kettle boiled over\n    Failing input written to testdata/fuzz/FuzzOpen/64cc\n"
	h, p := bare(debianRelease, "apt-get")
	furnish(h, p)
	for i := range fuzzTargets {
		p.answers[fuzzLine(i)] = fine
	}
	if err := fuzz(t.Context(), h, []string{"-for", "2s"}); err != nil {
		t.Errorf("%v where nothing fails", err)
	}
	if n := strings.Count(p.said(), "4321        17          nothing"); n != len(fuzzTargets) {
		t.Errorf("%d good lines in\n%s", n, p.said())
	}
	h, p = bare(debianRelease, "apt-get")
	furnish(h, p)
	for i := range fuzzTargets {
		p.answers[fuzzLine(i)] = fine
	}
	p.answers[fuzzLine(1)], p.fails[fuzzLine(1)] = failing, exitStatus(1)
	p.answers[fuzzLine(2)] = ""
	if status := report(h.stderr, fuzz(t.Context(), h, []string{"-for", "2s"})); status != 1 {
		t.Errorf("exit status %d where one fails", status)
	}
	for _, says := range []string{"77          3           fuzz_test.go:68: kettle boiled over (./calib/take/testdata/fuzz/FuzzOpen/64cc)", "FuzzDecode       0           0           nothing was tried"} {
		if !strings.Contains(p.said(), says) {
			t.Errorf("%q is not in\n%s", says, p.said())
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
