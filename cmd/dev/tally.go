package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
)

// event is a line of go test -json, as far as we use it; see go doc test2json.
type event struct {
	Action  string
	Package string
	Test    string
	Output  string
}

// testID names a test in its package. Without a test it stands for the package.
type testID struct{ pkg, test string }

// tally counts the results in a stream of go test -json that is written to it,
// and writes what people need to see: the log of each test that failed and the
// line of each package.
type tally struct {
	out      io.Writer
	partial  []byte              // of a line
	results  map[testID]string   // pass, fail or skip, by test
	packages map[string]string   // the same, by package; skip is one without tests
	logs     map[testID][]string // output not shown yet
	reasons  map[testID]string   // why a test was skipped
	races    int                 // reports of the race detector
	builds   int                 // packages that do not compile
}

func newTally(out io.Writer) *tally {
	return &tally{
		out:      out,
		results:  map[testID]string{},
		packages: map[string]string{},
		logs:     map[testID][]string{},
		reasons:  map[testID]string{},
	}
}

// Write takes the stream in pieces of any length.
func (t *tally) Write(p []byte) (int, error) {
	t.partial = append(t.partial, p...)
	for {
		line, rest, whole := bytes.Cut(t.partial, []byte("\n"))
		if !whole {
			return len(p), nil
		}
		t.line(line)
		t.partial = rest
	}
}

// line takes one line. The go command may print one that is no event; it is
// shown as it is.
func (t *tally) line(line []byte) {
	var e event
	if err := json.Unmarshal(line, &e); err != nil {
		fmt.Fprintf(t.out, "%s\n", line)
		return
	}
	t.event(e)
}

// event counts one event.
func (t *tally) event(e event) {
	id := testID{e.Package, e.Test}
	switch e.Action {
	case "build-output":
		fmt.Fprint(t.out, e.Output)
	case "build-fail":
		t.builds++
	case "output":
		t.output(id, e.Output)
	case "run":
		t.results[id] = "unfinished"
	case "pass", "fail", "skip":
		t.result(id, e.Action)
	}
}

// output keeps a line for when its test's result is known.
func (t *tally) output(id testID, text string) {
	if strings.HasPrefix(text, "WARNING: DATA RACE") {
		t.races++
	}
	if !strings.HasPrefix(text, "=== ") {
		t.logs[id] = append(t.logs[id], text)
	}
}

// result notes how a test or a package ended.
func (t *tally) result(id testID, action string) {
	switch {
	case id.test == "":
		t.packages[id.pkg] = action
		t.showPackage(id, action)
	case action == "fail":
		t.results[id] = action
		t.show(id)
	default:
		if action == "skip" {
			t.reasons[id] = reason(t.logs[id])
		}
		t.results[id] = action
		delete(t.logs, id)
	}
}

// reason is what a skipped test said, in one line.
func reason(log []string) string {
	var said []string
	for _, line := range log {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "--- ") {
			said = append(said, line)
		}
	}
	return strings.Join(said, " ")
}

// showPackage writes the line of a package, and everything it said if it failed.
func (t *tally) showPackage(id testID, action string) {
	if action == "fail" {
		for _, test := range t.unfinished(id.pkg) {
			t.results[test] = "fail"
			t.show(test)
		}
		t.show(id)
		return
	}
	for _, line := range t.logs[id] {
		if strings.HasPrefix(line, "ok ") || strings.HasPrefix(line, "? ") || strings.HasPrefix(line, "\t") {
			fmt.Fprint(t.out, line)
		}
	}
	delete(t.logs, id)
}

// unfinished lists the tests that were running when their package died.
func (t *tally) unfinished(pkg string) []testID {
	var ids []testID
	for id, result := range t.results {
		if id.pkg == pkg && result == "unfinished" {
			ids = append(ids, id)
		}
	}
	slices.SortFunc(ids, compareID)
	return ids
}

// show writes what a test or a package said.
func (t *tally) show(id testID) {
	for _, line := range t.logs[id] {
		fmt.Fprint(t.out, line)
	}
	delete(t.logs, id)
}

// named lists the tests with a result. A test that only has the result of one of
// its sub-tests is not counted beside them.
func (t *tally) named(result string) []testID {
	echo := t.echoes()
	var ids []testID
	for id, r := range t.results {
		if r == result && !echo[id] {
			ids = append(ids, id)
		}
	}
	slices.SortFunc(ids, compareID)
	return ids
}

// echoes is the tests whose result is but that of their sub-tests: those that
// passed, and those that ended as one of the sub-tests did.
func (t *tally) echoes() map[testID]bool {
	echo := map[testID]bool{}
	for part, result := range t.results {
		whole := part
		for i := strings.LastIndex(whole.test, "/"); i > 0; i = strings.LastIndex(whole.test, "/") {
			whole.test = whole.test[:i]
			if r := t.results[whole]; r == "pass" || r == result {
				echo[whole] = true
			}
		}
	}
	return echo
}

// packagesWith counts the packages with a result.
func (t *tally) packagesWith(result string) int {
	n := 0
	for _, r := range t.packages {
		if r == result {
			n++
		}
	}
	return n
}

func compareID(a, b testID) int {
	if c := strings.Compare(a.pkg, b.pkg); c != 0 {
		return c
	}
	return strings.Compare(a.test, b.test)
}
