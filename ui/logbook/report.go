package logbook

import (
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/user"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"

	"lagwright/calib/i18n"
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

// plainAttr lets a value into the log: numbers as they are, errors by i18n.Plain,
// words through the sieve, and of all else its type, for it may hold anything.
func plainAttr(_ []string, a slog.Attr) slog.Attr {
	switch v := a.Value.Any().(type) {
	case string:
		a.Value = slog.StringValue(sieve(v))
	case error:
		a.Value = slog.StringValue(i18n.Plain(v))
	case slog.Level:
	default:
		if a.Value.Kind() == slog.KindAny {
			a.Value = slog.StringValue(fmt.Sprintf("%T", v))
		}
	}
	return a
}

var (
	// What may name somebody goes to the end of its line: a folder may have any blank or
	// colon in its name, and quoted words whatever somebody typed.
	doubtful = regexp.MustCompile("(?i)\\S*(?:[\"`“„/\\\\]|\\.(?:wav|wave|bwf|rf64|flac|json|zip|csv|png|svg|pdf)\\b).*")
	inSource = regexp.MustCompile(`[\w.-]+\.go:\d+$`)
)

// sieve leaves out of a line all from where it looks as if it might name somebody: a path,
// the name of a file, words in quotation marks; and the name of the account anywhere. What
// stays of the rest is why the system refused, or where in the source it was. It is a second
// net, for words that we did not choose: the toolkit's complaints and why a program panicked.
// A name among other words slips through, so what we say ourselves must not need it.
func sieve(text string) string {
	text = doubtful.ReplaceAllStringFunc(text, func(rest string) string {
		for _, words := range refusals() {
			if strings.HasSuffix(rest, words) {
				return "…" + words
			}
		}
		return "…" + inSource.FindString(rest)
	})
	if name := account(); name != nil {
		text = name.ReplaceAllString(text, "…")
	}
	return text
}

// refusals are the system's words for what it refuses, as they follow a path.
var refusals = sync.OnceValue(func() (all []string) {
	for n := range 134 { // Linux has as many
		all = append(all, ": "+syscall.Errno(n).Error())
	}
	return all
})

// account is the name of who uses the computer, where it is one that tells.
var account = sync.OnceValue(func() *regexp.Regexp {
	u, err := user.Current()
	if err != nil {
		return nil
	}
	name := u.Username[strings.LastIndexByte(u.Username, '\\')+1:] // under Windows behind that of the computer
	if len(name) < 3 || name == "root" {
		return nil
	}
	found, _ := regexp.Compile(`(?i)\b` + regexp.QuoteMeta(name) + `\b`) // nil where the name is no text
	return found
})
