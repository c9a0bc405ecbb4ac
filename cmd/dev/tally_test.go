package main

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
)

// counts is what a summary counts.
type counts struct{ pkgOK, pkgFail, noTests, builds, pass, fail, skip, races int }

// recorded reads streams that go1.26.8 test -json -race really wrote for small
// packages, each named for what is wrong with it.
func recorded(t *testing.T, names ...string) (*tally, *bytes.Buffer) {
	t.Helper()
	var shown bytes.Buffer
	tl := newTally(&shown)
	for _, name := range names {
		f, err := os.Open(filepath.Join("testdata", name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		// Half reads cut lines in two, as a pipe does.
		if _, err := io.Copy(tl, iotest.HalfReader(f)); err != nil {
			t.Fatal(err)
		}
	}
	return tl, &shown
}

func count(t *tally) counts {
	return counts{t.packagesWith("pass"), t.packagesWith("fail"), t.packagesWith("skip"), t.builds,
		len(t.named("pass")), len(t.named("fail")) + len(t.named("unfinished")), len(t.named("skip")), t.races}
}

func TestTally(t *testing.T) {
	for _, c := range []struct {
		name   string
		want   counts
		passed bool
		shown  string // must be seen while the tests run
		hidden string // must not be
	}{
		{"good", counts{pkgOK: 1, pass: 4}, true, "ok  \texample/good", "quiet"},
		{"bad", counts{pkgFail: 1, pass: 2, fail: 2}, false, "lag is 3 ms, want 2 ms", "TestFine"},
		{"skipping", counts{pkgOK: 1, pass: 1, skip: 1}, false, "ok  \texample/skipping", "=== RUN"},
		{"panics", counts{pkgFail: 1, pass: 1, fail: 1}, false, "panic: assignment to entry in nil map", "TestFine"},
		{"racy", counts{pkgFail: 1, fail: 1, races: 1}, false, "WARNING: DATA RACE", "=== RUN"},
		{"broken", counts{pkgFail: 1, builds: 1}, false, "undefined: undefinedThing", "PASS"},
		{"exits", counts{pkgFail: 1, fail: 1}, false, "about to leave", "=== RUN"},
		{"empty", counts{noTests: 1}, false, "no test files", "FAIL"},
	} {
		tl, shown := recorded(t, c.name)
		if got := count(tl); got != c.want {
			t.Errorf("%s: counted %+v, want %+v", c.name, got, c.want)
		}
		s := summary{tally: tl, race: true}
		if s.passed() != c.passed {
			t.Errorf("%s: passed %v, want %v", c.name, s.passed(), c.passed)
		}
		if !strings.Contains(shown.String(), c.shown) || strings.Contains(shown.String(), c.hidden) {
			t.Errorf("%s: showed\n%s\nwant %q in it and %q not", c.name, shown, c.shown, c.hidden)
		}
	}
}

func TestTallyShowsWhatIsNoEvent(t *testing.T) {
	var shown bytes.Buffer
	tl := newTally(&shown)
	io.WriteString(tl, "go: cannot find main module\n")
	if got := shown.String(); got != "go: cannot find main module\n" {
		t.Errorf("showed %q", got)
	}
}

func TestSummary(t *testing.T) {
	tl, _ := recorded(t, "good", "bad", "skipping", "panics", "racy", "broken", "exits", "empty")
	s := summary{tally: tl, race: true, checks: []check{{"vet", errors.New("exit status 1")}, {"format", nil}}}
	var out strings.Builder
	s.write(&out)
	want := `
== summary
failed    vet: exit status 1
failed    example/bad TestParts/wrong
failed    example/bad TestWrong
failed    example/exits TestLeaves
failed    example/panics TestFalls
failed    example/racy TestRaces
skipped   example/skipping TestNeedsHorn: a_test.go:4: there is no horn on this machine
packages  2 passed, 5 failed (1 do not compile), 1 without tests
tests     8 passed, 5 failed, 1 skipped
races     1
time      0s
FAIL
`
	if out.String() != want {
		t.Errorf("summary\n%s\nwant\n%s", out.String(), want)
	}
}

func TestSummaryOfAFailedCheckAlone(t *testing.T) {
	tl, _ := recorded(t, "good")
	s := summary{tally: tl, checks: []check{{"format", errors.New("run gofmt -w a.go")}}}
	if s.passed() {
		t.Error("passed although a check failed")
	}
}

func TestSummaryOfSuccess(t *testing.T) {
	tl, _ := recorded(t, "good")
	var out strings.Builder
	summary{tally: tl}.write(&out)
	if !strings.HasSuffix(out.String(), "PASS\n") || !strings.Contains(out.String(), "races     not looked for") {
		t.Errorf("summary\n%s\nwant PASS, and a word on the races nobody looked for", out.String())
	}
}
