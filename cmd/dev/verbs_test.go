package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/internal/must"
)

func TestUnknownVerb(t *testing.T) {
	for _, args := range [][]string{nil, {"dance"}, {"run", "away"}} {
		h, p := bare()
		status := report(h.stderr, dispatch(t.Context(), h, args))
		if status != 2 || len(p.ran) > 0 {
			t.Errorf("%q: exit status %d, ran %q, want 2 and nothing", args, status, p.lines())
		}
	}
}

func TestUnknownVerbShowsTheList(t *testing.T) {
	h, _ := bare()
	err := dispatch(t.Context(), h, []string{"dance"})
	for _, v := range verbs {
		if !strings.Contains(err.Error(), v.name) {
			t.Errorf("%q does not name the verb %s", err, v.name)
		}
	}
}

// What a verb cannot take it refuses at once, and says how it is used.
func TestVerbsRefuseBadArguments(t *testing.T) {
	for name, lines := range map[string][]string{
		"accuracy": {"-n 0", "-n x", "more", "-fast"},
		"study":    {"-n 0", "-n x", "more", "-fast"},
		"bench":    {"-n 0", "-minutes 0", "-minutes NaN", "more"},
		"faults":   {"more", "-minutes 1", "-minutes NaN", "-seed x"},
		"fuzz":     {"more", "-for soon", "-for 0s", "-for 48h"},
		"soak":     {"now", "-loops 2"},
		"shots":    {"one two", "-text 90 pictures", "-fast pictures"},
		"release":  {"now", "-fast", "-o "},
	} {
		v, _ := verbCalled(name)
		for _, line := range lines {
			h, p := bare()
			err := v.run(t.Context(), h, strings.Split(line, " "))
			if usage, ok := errors.AsType[usageError](err); !ok || !strings.HasPrefix(string(usage), "usage: "+name) || len(p.ran) > 0 {
				t.Errorf("%s %s: %v and ran %q, want a usage error and nothing", name, line, err, p.lines())
			}
		}
	}
}

// environment is a getenv for tests, from pairs of name and value.
func environment(pairs ...string) func(string) string {
	return func(name string) string {
		for i := 0; i < len(pairs); i += 2 {
			if pairs[i] == name {
				return pairs[i+1]
			}
		}
		return ""
	}
}

// programOfRun is where run keeps the program.
func programOfRun(t *testing.T) string {
	t.Setenv("XDG_CACHE_HOME", "/cache")
	return "/cache/lagwright-dev/lagwright"
}

// The demo plays where the program says that there is no display.
func TestRunPicksWindowOrDemo(t *testing.T) {
	for _, display := range []bool{true, false} {
		h, p := bare()
		furnish(p)
		bin := programOfRun(t)
		want := []string{"go build -buildvcs=false -tags=no_animations -o " + bin + " ./cmd/lagwright", bin + " -practice"}
		if !display {
			p.fails[want[1]] = exitStatus(noDisplay)
			want = append(want, bin+" demo")
		}
		must.Do(t, run(t.Context(), h, nil))
		if !slices.Equal(p.lines(), want) {
			t.Errorf("with a display %v ran %q, want %q", display, p.lines(), want)
		}
		if !strings.Contains(p.ran[0].said, "5 minutes") {
			t.Errorf("said %q before the build, want how long it takes", p.ran[0].said)
		}
	}
}

func TestRunHandsOnTheExitStatus(t *testing.T) {
	h, p := bare()
	furnish(p)
	p.fails[programOfRun(t)] = exitStatus(3)
	if status := report(h.stderr, run(t.Context(), h, nil)); status != 3 {
		t.Errorf("exit status %d, want that of the program, 3", status)
	}
}

// A sentence that holds the exit status of a program is said all the same.
func TestReportSaysWhatFailed(t *testing.T) {
	h, p := bare()
	p.fails["go list"] = exitStatus(1)
	if status := report(h.stderr, test(t.Context(), h, []string{"-quick"})); status != 1 || !strings.Contains(h.stderr.(*bytes.Buffer).String(), "go list finds no packages") {
		t.Errorf("exit status %d, said %q", status, h.stderr)
	}
}

// Who ends a verb from the keyboard is told so in a word.
func TestReportSaysInterrupted(t *testing.T) {
	var said bytes.Buffer
	if status := report(&said, fmt.Errorf("playing: %w", context.Canceled)); status != 1 || said.String() != "dev: interrupted\n" {
		t.Errorf("exit status %d, said %q", status, said.String())
	}
}

func TestRunStopsAtAFailedBuild(t *testing.T) {
	h, p := bare()
	furnish(p)
	p.fails["go build"] = exitStatus(1)
	if err := run(t.Context(), h, nil); err == nil || len(p.ran) != 1 {
		t.Errorf("error %v, ran %q, want the build alone", err, p.lines())
	}
}

func TestChildEnv(t *testing.T) {
	for _, c := range []struct{ set, want []string }{
		{nil, []string{"CGO_ENABLED=1", "LC_ALL=C.UTF-8"}},
		{[]string{"LANG", "C"}, []string{"CGO_ENABLED=1", "LC_ALL=C.UTF-8"}},
		{[]string{"LANG", "POSIX"}, []string{"CGO_ENABLED=1", "LC_ALL=C.UTF-8"}},
		{[]string{"LANG", "de_DE.UTF-8"}, []string{"CGO_ENABLED=1"}},
		{[]string{"LC_ALL", "C", "LANG", "de_DE.UTF-8"}, []string{"CGO_ENABLED=1", "LC_ALL=C.UTF-8"}},
		{[]string{"LC_ALL", "fr_FR.UTF-8", "LANG", "C"}, []string{"CGO_ENABLED=1"}},
	} {
		h, _ := bare()
		h.getenv = environment(c.set...)
		if got := h.childEnv(); !slices.Equal(got, c.want) {
			t.Errorf("with %q: %q, want %q", c.set, got, c.want)
		}
	}
}

// sumLine begins the commands that run tests.
const sumLine = "go run gotest.tools/gotestsum@v1.13.0 --format=pkgname "

// rehearse runs the test verb on a furnished pretended machine with three packages.
func rehearse(t *testing.T, change func(p *pretence), args ...string) (*pretence, error) {
	t.Helper()
	h, p := bare()
	furnish(p)
	p.answers["go list ./..."] = "lagwright/calib\nlagwright/calib/take\nlagwright/cmd/lagwright\n"
	p.answers["go list ./calib"] = "lagwright/calib\n"
	if change != nil {
		change(p)
	}
	return p, test(t.Context(), h, args)
}

// testing returns what was run to test, without what all such commands begin with.
func (p *pretence) testing() (tested []string) {
	for _, line := range p.lines() {
		if _, how, ok := strings.Cut(strings.TrimPrefix(line, sumLine), "-- "); ok {
			tested = append(tested, how)
		}
	}
	return tested
}

// Each package is tested once, with the race detector or without.
func TestTestTestsEachPackageOnce(t *testing.T) {
	p, err := rehearse(t, nil)
	if err != nil || !strings.HasSuffix(p.said(), "\nPASS\n") {
		t.Errorf("%v, said\n%s", err, p.said())
	}
	want := []string{"-count=1 " + strings.Join(testFlags, " ") + " lagwright/calib lagwright/cmd/lagwright", "-race -count=1 " + strings.Join(testFlags, " ") + " lagwright/calib/take"}
	if got := p.testing(); !slices.Equal(got, want) {
		t.Errorf("tested\n%q, want\n%q", got, want)
	}
	last := p.ran[len(p.ran)-1]
	for _, want := range []string{"DISPLAY=:9", "FYNE_PLATFORM=x11", "FYNE_SCALE=1", "LC_ALL=C.UTF-8", "CGO_ENABLED=1"} {
		if !slices.Contains(last.env, want) {
			t.Errorf("the tests got %q, want %s in it", last.env, want)
		}
	}
	if !slices.ContainsFunc(last.env, func(s string) bool { return strings.HasPrefix(s, "LAGWRIGHT_BIN=") }) {
		t.Errorf("the tests got %q, want LAGWRIGHT_BIN in it", last.env)
	}
}

// What fails is told, and all the rest is done nevertheless.
func TestTestFails(t *testing.T) {
	for name, change := range map[string]func(p *pretence){
		"test without": func(p *pretence) { p.fails[sumLine] = exitStatus(1) },
		"vet":          func(p *pretence) { p.fails["go vet"] = exitStatus(1) },
		"build":        func(p *pretence) { p.fails["go build"] = exitStatus(1) },
		"format":       func(p *pretence) { p.answers["gofmt -l ."] = "crooked.go\n" },
	} {
		p, err := rehearse(t, change)
		if report(p.host.stderr, err) != 1 || !strings.HasSuffix(p.said(), "\nFAIL\n") || !strings.Contains(p.said(), "failed: "+name) || len(p.testing()) != 2 {
			t.Errorf("%s: error %v, want exit status 1, FAIL and both tests; said\n%s", name, err, p.said())
		}
	}
}

func TestTestHandsOnArguments(t *testing.T) {
	for _, args := range []string{"-run Law ./calib", "-run . ./calib", "-bench .* ./calib"} {
		p, err := rehearse(t, nil, strings.Fields(args)...)
		flags := strings.TrimSuffix(args, "./calib")
		if got, want := p.testing(), []string{"-count=1 " + strings.Join(testFlags, " ") + " " + flags + "lagwright/calib"}; err != nil || !slices.Equal(got, want) {
			t.Errorf("%v, tested %q, want %q", err, got, want)
		}
	}
	p, err := rehearse(t, nil, "-quick", "-bench", ".") // of all packages
	if got := p.testing(); err != nil || len(got) != 1 || !strings.Contains(got[0], " -bench . lagwright/calib lagwright/calib/take") {
		t.Errorf("%v, tested %q", err, got)
	}
	for arg, want := range map[string]bool{
		"./calib": true, "./...": true, "../x": true, "lagwright": true, "lagwright/calib/...": true,
		".": false, ".*Law": false, "..": false, "lagwrights": false, "Law": false, "-v": false,
	} {
		if isPackage(arg) != want {
			t.Errorf("%s: a package = %v", arg, !want)
		}
	}
}

// Quick tests build nothing that needs C and need nothing that would be installed.
func TestTestQuick(t *testing.T) {
	p, err := rehearse(t, nil, "-quick", "-run", "Law")
	if got, want := p.testing(), []string{"-short " + strings.Join(testFlags, " ") + " -run Law lagwright/calib lagwright/calib/take"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("%v, tested %q, want %q", err, got, want)
	}
	if last := p.ran[len(p.ran)-1]; last.env[len(last.env)-1] != "CGO_ENABLED=0" {
		t.Errorf("the tests got %q", last.env)
	}
}

// deep says how long it takes, goes on after a failure, and tries all there is.
func TestDeep(t *testing.T) {
	all := verbs
	defer func() { verbs = all }()
	var ran []string
	verbs = nil
	for _, e := range exhaustive[:len(exhaustive)-1] {
		verbs = append(verbs, verb{e.name, "tries", func(context.Context, *host, []string) error {
			ran = append(ran, e.name)
			return exitStatus(1)
		}})
	}
	h, p := bare()
	furnish(p)
	p.answers["go list ./..."] = "lagwright/calib\nlagwright/calib/take\nlagwright/internal/x\nlagwright/cmd/lagwright\n"
	if err := deep(t.Context(), h, nil); report(h.stderr, err) != 1 || len(ran) != len(verbs) || !strings.Contains(p.said(), "minutes") ||
		!strings.Contains(p.said(), "failed: accuracy, ") || !strings.Contains(p.said(), "passed: tests, ") {
		t.Errorf("%v, ran %q, said\n%s", err, ran, p.said())
	}
	last := p.ran[len(p.ran)-1]
	if !strings.HasSuffix(last.line, " -timeout=0 lagwright/calib") || !slices.Contains(last.env, deepEnv) {
		t.Errorf("tested by %q with %q", last.line, last.env)
	}
	for _, e := range verbs {
		if !slices.ContainsFunc(all, func(v verb) bool { return v.name == e.name }) {
			t.Errorf("there is no verb %s", e.name)
		}
	}
}

// TestSkippedTestsFail runs real tests, one of which says nothing.
func TestSkippedTestsFail(t *testing.T) {
	if testing.Short() {
		t.Skip("it compiles a test")
	}
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{"go.mod": "module m\n", "m_test.go": "package m\n\nimport \"testing\"\n\n" +
		"func TestA(t *testing.T) {}\nfunc TestB(t *testing.T) { t.Skip(\"no kettle here\") }\n"} {
		must.Do(t, os.WriteFile(name, []byte(text), 0o666))
	}
	for pattern, want := range map[string]bool{"TestA": true, "TestB": false} {
		h := thisHost()
		var out bytes.Buffer
		h.stdout = &out
		err := h.goTest(t.Context(), nil, nil, []string{"-run=" + pattern, "."}, noSkips, "--", "-count=1")
		if said := out.String(); (err == nil) != want || !strings.Contains(said, "DONE 1 tests") || !want && !strings.Contains(err.Error(), "no kettle here") {
			t.Errorf("%s: %v, said\n%s", pattern, err, said)
		}
	}
}

// notRaced start goroutines and are tested without the race detector all the same.
var notRaced = map[string]string{
	"calib/signal":         "channels and stretches are measured side by side as calib/bench's tests have it, under the detector",
	"cmd/dev":              "its workers fill parts of a slice that are their own; the rest waits for programs",
	"cmd/lagwright":        "it hands an interrupt to the window, and its tests run it as a program",
	"internal/boundedtest": "it watches the clock",
	"internal/testscreen":  "it waits for the end of a program",
	"ui/kit":               "after a rest it gives memory back, and touches nothing else",
}

// TestRacedAreThoseWithGoroutines: what starts goroutines is tested under the race
// detector, or named with a reason.
func TestRacedAreThoseWithGoroutines(t *testing.T) {
	starts := map[string]string{}
	for _, r := range ours(t) {
		for _, name := range slices.Concat(r.GoFiles, r.CgoFiles) {
			tree := must.Get(parser.ParseFile(token.NewFileSet(), filepath.Join(r.Dir, name), nil, parser.SkipObjectResolution))(t)
			ast.Inspect(tree, func(n ast.Node) bool {
				_, statement := n.(*ast.GoStmt)
				called, _ := n.(*ast.SelectorExpr) // of a sync.WaitGroup, time or context
				if statement || called != nil && (called.Sel.Name == "Go" || called.Sel.Name == "AfterFunc") {
					starts[short(r.ImportPath)] = name
				}
				return true
			})
		}
	}
	for pkg, file := range starts {
		if raced[pkg] == "" && notRaced[pkg] == "" {
			t.Errorf("%s starts a goroutine in %s: name it in raced, or in notRaced with the reason", pkg, file)
		}
	}
	for pkg := range notRaced {
		if starts[pkg] == "" || raced[pkg] != "" {
			t.Errorf("%s has no place in notRaced", pkg)
		}
	}
	if len(starts) < 10 {
		t.Errorf("only %d packages start goroutines", len(starts))
	}
}

func TestModuleRoot(t *testing.T) {
	root := t.TempDir()
	deep := filepath.Join(root, "cmd", "dev")
	must.Do(t, os.MkdirAll(deep, 0o777))
	if _, err := moduleRoot(deep); err == nil {
		t.Error("found a module where there is none")
	}
	must.Do(t, os.WriteFile(filepath.Join(root, "go.mod"), []byte("module lagwright\n\ngo 1.26\n"), 0o666))
	if got, err := moduleRoot(deep); got != root || err != nil {
		t.Errorf("%s, %v, want %s", got, err, root)
	}
}
