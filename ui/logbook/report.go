package logbook

import (
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
)

// Fact is a line of a report.
type Fact struct{ What, Is string }

// lastLines is how much of the log goes into a report.
const lastLines = 80

// Report says on which system what happened last, without names. It is English,
// like the log: it is for whoever mends things.
func (b *Book) Report(facts ...Fact) string {
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	facts = append([]Fact{
		{"Lagwright", b.version},
		{"system", runtime.GOOS + " on " + runtime.GOARCH + ", " + runtime.Version()},
	}, facts...)
	facts = append(facts, Fact{"memory", fmt.Sprintf("%d MiB in use, %d goroutines", memory.HeapInuse>>20, runtime.NumGoroutine())})
	var s strings.Builder
	for _, f := range facts {
		fmt.Fprintf(&s, "%s: %s\n", f.What, sieve(f.Is))
	}
	fmt.Fprintf(&s, "\nlast lines of the log:\n%s", b.tail())
	return s.String()
}

// tail is the end of the log, with that of the older one where it is short.
func (b *Book) tail() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var text []byte
	for _, name := range []string{olderName, logName} {
		one, _ := os.ReadFile(filepath.Join(b.dir, name)) // without it the other has to do
		text = append(text, one...)
	}
	lines := slices.DeleteFunc(strings.SplitAfter(string(text), "\n"), func(line string) bool { return strings.TrimSpace(line) == "" })
	return strings.Join(lines[max(0, len(lines)-lastLines):], "")
}

// Crashed is the report of how an earlier run ended, "" where none crashed. It is
// told once: from then on the crash stands in the log.
func (b *Book) Crashed() string {
	text, err := io.ReadAll(io.NewSectionReader(b.crash, 0, mostCrash))
	if err != nil || strings.TrimSpace(string(text)) == "" {
		return ""
	}
	report := b.Report()
	slog.Warn("an earlier run crashed")
	crash := "\ncrash:\n" + plainStack(string(text))
	if _, err := b.Write([]byte(crash)); err == nil {
		_ = b.crash.Truncate(0) // else it is told again
	}
	return report + crash
}

// stack begins that of the first goroutine; source is a line of it that says where
// in the source a call is.
var (
	stack  = regexp.MustCompile(`(?m)^goroutine \d`)
	source = regexp.MustCompile(`(?m)^\t.*?([^/\\\s]+[/\\][^/\\\s]+\.(?:go|s|c|m):\d+)`)
)

// plainStack leaves names out of what the runtime wrote, and keeps where in the
// source it was. Faults that the runtime finds itself tell numbers and types; a panic
// tells whatever it was given, so ours are given no names, and others' go through the
// sieve. Stacks tell addresses, functions and source files only.
func plainStack(text string) string {
	why, stacks := text, ""
	if at := stack.FindStringIndex(text); at != nil {
		why, stacks = text[:at[0]], text[at[0]:]
	}
	var s strings.Builder
	s.WriteString(sieve(why))
	for line := range strings.Lines(stacks) {
		if at := source.FindStringSubmatch(line); at != nil {
			line = "\t" + at[1] + "\n"
		}
		s.WriteString(line)
	}
	return s.String()
}
