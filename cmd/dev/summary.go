package main

import (
	"fmt"
	"io"
	"time"
)

// check is a step of the test verb besides the tests themselves.
type check struct {
	name string
	err  error
}

// summary is the end of the test verb.
type summary struct {
	tally  *tally
	checks []check
	race   bool // the race detector watched
	took   time.Duration
}

// passed reports whether everything that had to be there was there and passed.
// A skipped test counts as failed: what it needed was absent, so it said nothing.
func (s summary) passed() bool {
	for _, c := range s.checks {
		if c.err != nil {
			return false
		}
	}
	t := s.tally
	bad := t.packagesWith("fail") + t.builds + t.races +
		len(t.named("fail")) + len(t.named("skip")) + len(t.named("unfinished"))
	return bad == 0 && len(t.named("pass")) > 0
}

// write prints what went wrong by name, then the counts, then the verdict.
func (s summary) write(w io.Writer) {
	fmt.Fprintln(w, "\n== summary")
	s.writeNames(w)
	t := s.tally
	fmt.Fprintf(w, "packages  %d passed, %d failed (%d do not compile), %d without tests\n",
		t.packagesWith("pass"), t.packagesWith("fail"), t.builds, t.packagesWith("skip"))
	fmt.Fprintf(w, "tests     %d passed, %d failed, %d skipped\n",
		len(t.named("pass")), len(t.named("fail"))+len(t.named("unfinished")), len(t.named("skip")))
	if s.race {
		fmt.Fprintf(w, "races     %d\n", t.races)
	} else {
		fmt.Fprintln(w, "races     not looked for: the race detector does not work on this system")
	}
	fmt.Fprintf(w, "time      %s\n", s.took.Round(time.Second))
	if s.passed() {
		fmt.Fprintln(w, "PASS")
	} else {
		fmt.Fprintln(w, "FAIL")
	}
}

// writeNames prints a line for each thing that went wrong.
func (s summary) writeNames(w io.Writer) {
	for _, c := range s.checks {
		if c.err != nil {
			fmt.Fprintf(w, "failed    %s: %v\n", c.name, c.err)
		}
	}
	for _, id := range s.tally.named("fail") {
		fmt.Fprintf(w, "failed    %s %s\n", id.pkg, id.test)
	}
	for _, id := range s.tally.named("unfinished") {
		fmt.Fprintf(w, "failed    %s %s: it never ended\n", id.pkg, id.test)
	}
	for _, id := range s.tally.named("skip") {
		fmt.Fprintf(w, "skipped   %s %s: %s\n", id.pkg, id.test, s.tally.reasons[id])
	}
	if len(s.tally.results) == 0 {
		fmt.Fprintln(w, "failed    no test ran")
	}
}
