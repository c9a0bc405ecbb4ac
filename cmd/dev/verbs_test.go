package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

func TestUnknownVerb(t *testing.T) {
	for _, args := range [][]string{nil, {"dance"}, {"run", "away"}} {
		h, p := bare(debianRelease, "apt-get")
		status := report(h.stderr, dispatch(t.Context(), h, args))
		if status != 2 || len(p.ran) > 0 {
			t.Errorf("%q: exit status %d, ran %q, want 2 and nothing", args, status, p.lines())
		}
	}
}

func TestUnknownVerbShowsTheList(t *testing.T) {
	h, _ := bare(debianRelease, "apt-get")
	err := dispatch(t.Context(), h, []string{"dance"})
	for _, v := range verbs {
		if !strings.Contains(err.Error(), v.name) {
			t.Errorf("%q does not name the verb %s", err, v.name)
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

func TestRunPicksWindowOrDemo(t *testing.T) {
	for _, c := range []struct {
		goos string
		env  []string
		want string
	}{
		{"linux", nil, "demo"},
		{"linux", []string{"DISPLAY", ":0"}, "-practice"},
		{"linux", []string{"WAYLAND_DISPLAY", "wayland-0"}, "-practice"},
		{"darwin", nil, "-practice"},
		{"windows", nil, "-practice"},
	} {
		h, p := bare(debianRelease, "apt-get")
		furnish(h, p)
		h.goos, h.getenv = c.goos, environment(c.env...)
		if err := run(t.Context(), h, nil); err != nil {
			t.Fatal(err)
		}
		bin := binary(h, cacheDir())
		want := []string{"go build -buildvcs=false -o " + bin + " ./cmd/lagwright", bin + " " + c.want}
		if !slices.Equal(p.lines(), want) {
			t.Errorf("on %s with %q ran %q, want %q", c.goos, c.env, p.lines(), want)
		}
		if !strings.Contains(p.ran[0].said, "5 minutes") {
			t.Errorf("said %q before the build, want how long it takes", p.ran[0].said)
		}
	}
}

func TestRunHandsOnTheExitStatus(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	furnish(h, p)
	p.fails[binary(h, cacheDir())] = exitStatus(3)
	if status := report(h.stderr, run(t.Context(), h, nil)); status != 3 {
		t.Errorf("exit status %d, want that of the program, 3", status)
	}
}

func TestRunStopsAtAFailedBuild(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	furnish(h, p)
	p.fails["go build"] = exitStatus(1)
	if err := run(t.Context(), h, nil); err == nil || len(p.ran) != 1 {
		t.Errorf("error %v, ran %q, want the build alone", err, p.lines())
	}
}

func TestChildEnv(t *testing.T) {
	for _, c := range []struct{ set, want []string }{
		{nil, []string{"CGO_ENABLED=1", "LANG=C.UTF-8"}},
		{[]string{"LANG", "C"}, []string{"CGO_ENABLED=1", "LANG=C.UTF-8"}},
		{[]string{"LANG", "POSIX"}, []string{"CGO_ENABLED=1", "LANG=C.UTF-8"}},
		{[]string{"LANG", "de_DE.UTF-8"}, []string{"CGO_ENABLED=1"}},
		{[]string{"LC_ALL", "C", "LANG", "de_DE.UTF-8"}, []string{"CGO_ENABLED=1", "LC_ALL=C.UTF-8"}},
		{[]string{"LC_ALL", "fr_FR.UTF-8", "LANG", "C"}, []string{"CGO_ENABLED=1"}},
	} {
		h, _ := bare(debianRelease, "apt-get")
		h.getenv = environment(c.set...)
		if got := h.childEnv(); !slices.Equal(got, c.want) {
			t.Errorf("with %q: %q, want %q", c.set, got, c.want)
		}
	}
}

// goTestLine is the command the test verb runs in the end.
const goTestLine = "go test -json -count=1 -vet=off -timeout=20m"

// rehearse runs the test verb on a furnished pretended machine on which go test
// writes the recorded stream.
func rehearse(t *testing.T, stream string, change func(h *host, p *pretence)) (*pretence, error) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", stream+".json"))
	if err != nil {
		t.Fatal(err)
	}
	h, p := bare(debianRelease, "apt-get")
	furnish(h, p)
	p.answers[goTestLine+" -race ./..."] = string(text)
	p.answers[goTestLine+" ./..."] = string(text)
	if change != nil {
		change(h, p)
	}
	return p, test(t.Context(), h, nil)
}

func TestTestEndsWithItsSummary(t *testing.T) {
	p, err := rehearse(t, "good", nil)
	if err != nil {
		t.Errorf("error %v on a run in which all passed", err)
	}
	if !strings.HasSuffix(p.said(), "\nPASS\n") {
		t.Errorf("said\n%s\nwant PASS as the last word", p.said())
	}
	last := p.ran[len(p.ran)-1]
	for _, want := range []string{"DISPLAY=:9", "FYNE_PLATFORM=x11", "FYNE_SCALE=1", "LANG=C.UTF-8", "CGO_ENABLED=1"} {
		if !slices.Contains(last.env, want) {
			t.Errorf("the tests got %q, want %s in it", last.env, want)
		}
	}
	if !slices.ContainsFunc(last.env, func(s string) bool { return strings.HasPrefix(s, "LAGWRIGHT_BIN=") }) {
		t.Errorf("the tests got %q, want LAGWRIGHT_BIN in it", last.env)
	}
}

func TestTestFails(t *testing.T) {
	badFile := fstest.MapFS{"a.go": {Data: []byte("package  a\n")}}
	for name, c := range map[string]struct {
		stream string
		change func(h *host, p *pretence)
	}{
		"on a failed test":      {"bad", nil},
		"on a skipped test":     {"skipping", nil},
		"on no test at all":     {"empty", nil},
		"on go test's own word": {"good", func(_ *host, p *pretence) { p.fails[goTestLine] = exitStatus(1) }},
		"on a finding of vet":   {"good", func(_ *host, p *pretence) { p.fails["go vet"] = exitStatus(1) }},
		"on a failed build":     {"good", func(_ *host, p *pretence) { p.fails["go build"] = exitStatus(1) }},
		"on a crooked file":     {"good", func(h *host, _ *pretence) { h.module = badFile }},
	} {
		p, err := rehearse(t, c.stream, c.change)
		if report(p.host.stderr, err) != 1 || !strings.HasSuffix(p.said(), "\nFAIL\n") {
			t.Errorf("%s: error %v, want exit status 1 and FAIL; said\n%s", name, err, p.said())
		}
	}
}

func TestTestWithoutRaceDetector(t *testing.T) {
	p, err := rehearse(t, "good", func(_ *host, p *pretence) { p.fails["go list -race"] = exitStatus(2) })
	if err != nil {
		t.Fatal(err)
	}
	if last := p.ran[len(p.ran)-1].line; last != goTestLine+" ./..." {
		t.Errorf("ran %q, want it without -race", last)
	}
}

func TestTestHandsOnArguments(t *testing.T) {
	got := goTest(true, []string{"-run", "Law", "./calib"})
	if want := strings.Fields(goTestLine + " -race -run Law ./calib"); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestModuleRoot(t *testing.T) {
	root := t.TempDir()
	deep := filepath.Join(root, "cmd", "dev")
	if err := os.MkdirAll(deep, 0o777); err != nil {
		t.Fatal(err)
	}
	if _, err := moduleRoot(deep); err == nil {
		t.Error("found a module where there is none")
	}
	if err := os.WriteFile(filepath.Join(root, "go.mod"), []byte("module lagwright\n\ngo 1.26\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if got, err := moduleRoot(deep); got != root || err != nil {
		t.Errorf("%s, %v, want %s", got, err, root)
	}
}

func TestUnformatted(t *testing.T) {
	files := fstest.MapFS{
		"neat.go":          {Data: []byte("package a\n")},
		"b/crooked.go":     {Data: []byte("package  a\n")},
		"testdata/left.go": {Data: []byte("package  a\n")},
		".git/left.go":     {Data: []byte("package  a\n")},
	}
	got, err := unformatted(files)
	if err != nil || !slices.Equal(got, []string{"b/crooked.go"}) {
		t.Errorf("%q, %v, want b/crooked.go", got, err)
	}
	files["c.go"] = &fstest.MapFile{Data: []byte("packing a\n")}
	if _, err := unformatted(files); err == nil || !strings.Contains(err.Error(), "c.go") {
		t.Errorf("error %v, want one that names c.go", err)
	}
}
