package logbook

import (
	"errors"
	"io/fs"
	"log"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"lagwright/internal/must"
)

// opened is a book in a folder of the test's own; slog's default comes back at the
// end.
func opened(t *testing.T, dir string) *Book {
	t.Helper()
	old, flags, writer := slog.Default(), log.Flags(), log.Writer()
	b := must.Get(Open(dir, "1.2.3"))(t)
	t.Cleanup(func() { b.Close(); slog.SetDefault(old); log.SetFlags(flags); log.SetOutput(writer) })
	return b
}

func textOf(t *testing.T, dir, name string) string {
	t.Helper()
	text := must.Get(os.ReadFile(filepath.Join(dir, name)))(t)
	return string(text)
}

// Where the log lies follows the XDG Base Directory Specification.
func TestDir(t *testing.T) {
	t.Setenv("LAGWRIGHT_STATE", "")
	t.Setenv("HOME", "/home/somebody")
	for state, want := range map[string]string{"": "/home/somebody/.local/state/lagwright", "/var/state": "/var/state/lagwright", "not/absolute": "/home/somebody/.local/state/lagwright"} {
		t.Setenv("XDG_STATE_HOME", state)
		if got, err := Dir(); got != want || err != nil {
			t.Errorf("XDG_STATE_HOME=%q: %q, %v, want %q", state, got, err, want)
		}
	}
	t.Setenv("LAGWRIGHT_STATE", "/elsewhere")
	if got, err := Dir(); got != "/elsewhere" || err != nil {
		t.Errorf("%q, %v", got, err)
	}
}

func TestLogSaysWhatHappened(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "state")
	b := opened(t, dir)
	slog.Warn("told", "error", error(&fs.PathError{Op: "open", Path: "/home/anna/Mill of Anna/take-003.wav", Err: fs.ErrPermission}))
	slog.Debug("too fine")
	log.Print("the toolkit complains")
	text := textOf(t, dir, logName)
	for _, want := range []string{"level=INFO msg=start version=1.2.3", `level=WARN msg=told error="open: permission denied"`, `level=WARN msg="the toolkit complains"`} {
		if !strings.Contains(text, want) {
			t.Errorf("there is no %s in\n%s", want, text)
		}
	}
	if strings.Contains(text, "nna") || strings.Contains(text, "too fine") {
		t.Errorf("the log says too much:\n%s", text)
	}
	if info, err := os.Stat(filepath.Join(dir, logName)); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("others may read the log: %v, %v", info.Mode(), err)
	}
	b.Close()
	slog.Info("after the end") // dropped, and no harm done
	if strings.Contains(textOf(t, dir, logName), "after") {
		t.Error("a closed log grew")
	}
}

func TestSieve(t *testing.T) {
	for text, want := range map[string]string{
		"/home/anna/Lagwright/Mill of Anna/machine.json: permission denied":       "…: permission denied",
		"/home/anna/My takes/second try.wav cannot be measured: 3 of its 12 hits": "…",
		`C:\Users\Anna\Lagwright\take-001.part.wav is 3 s long`:                   "…",
		"/home/anna/Lagwright/Mill of Anna is gone: open another":                 "…",
		"open /srv/Mill: second try/Anna: 1: permission denied":                   "open …: permission denied",
		`take 3 of /srv/x has no voice "Anna's drum": choose one of them`:         "take 3 of …",
		`voice "Anna's \"big\" drum" is gone`:                                     "voice …",
		"regexp: Compile(`Anna`): missing argument":                               "regexp: …",
		`no voice "Anna`: "no voice …",
		`there is no device "Anna's USB microphone"`: "there is no device …",
		"anna.wav is no recording":                   "…",
		"take-012.wav is no recording":               "…",
		"12 hits / 3 s":                              "12 hits …",
		"  At: /home/anna/go/pkg/mod/fyne.io/fyne/v2@v2.8.1/app/app_xdg.go:152": "  At: …app_xdg.go:152",
		"the disk is full":                       "the disk is full",
		"file:///home/anna/x.zip: not a machine": "…",
		`lock of \\server\anna\Mill\machine.json is held; close the other window`: "lock of …",
	} {
		if got := sieve(text); got != want {
			t.Errorf("%s\n got %q\nwant %q", text, got, want)
		}
	}
}

// A log that is full becomes the older one; together they stay small.
func TestLogStaysSmall(t *testing.T) {
	dir := t.TempDir()
	b := opened(t, dir)
	for i := range 40000 {
		slog.Info("take", "id", i, "outcome", "move")
	}
	total := int64(0)
	for _, name := range []string{logName, olderName} {
		info := must.Get(os.Stat(filepath.Join(dir, name)))(t)
		total += info.Size()
	}
	if total > 2*mostBytes || total < mostBytes {
		t.Errorf("the logs take %d bytes, want at most %d and most of the last run", total, 2*mostBytes)
	}
	if report := b.Report(); !strings.Contains(report, "id=39999 ") || strings.Count(report, "\n") > lastLines+10 {
		t.Errorf("the report has not the last lines, or too many:\n%s", report)
	}
}

func TestReport(t *testing.T) {
	b := opened(t, t.TempDir())
	report := b.Report(Fact{"sound inputs", "2"}, Fact{"sound outputs", `"Anna's headphones" do not answer`})
	for _, want := range []string{"Lagwright: 1.2.3\n", "system: " + runtime.GOOS + " on " + runtime.GOARCH + ", go", "sound inputs: 2\n", "sound outputs: …", "msg=start"} {
		if !strings.Contains(report, want) {
			t.Errorf("there is no %q in\n%s", want, report)
		}
	}
}

func TestNoLog(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	must.Do(t, os.WriteFile(file, nil, 0o600))
	if b, err := Open(filepath.Join(file, "state"), ""); err == nil {
		b.Close()
		t.Error("there is a log where no folder can be")
	}
}

// crasher is what the test runs itself as, to crash for real.
const crasher = "LAGWRIGHT_TEST_CRASH"

func TestMain(m *testing.M) {
	if how := os.Getenv(crasher); how != "" {
		b, err := Open(os.Getenv("LAGWRIGHT_STATE"), "1.2.3")
		if err != nil {
			panic(err)
		}
		slog.Info("take", "id", 7)
		switch how {
		case "goroutine":
			done := make(chan bool)
			go func() { panic(errors.New("/home/anna/Mill/notes.json is not what it was")) }()
			<-done
		case "runtime":
			m := map[int]int{}
			for range 8 {
				go func() {
					for i := 0; ; i++ {
						m[i%3]++
					}
				}()
			}
			select {}
		}
		b.Close()
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// Another process crashes; the next run finds why, without names, tells it once and
// keeps it in the log.
func TestCrashIsOffered(t *testing.T) {
	for how, want := range map[string][]string{
		"goroutine": {"panic: ", "panic: …\n", "goroutine ", "logbook_test.go:", "id=7"},
		"runtime":   {"maps.fatal(", "goroutine ", "logbook_test.go:"},
		"not":       nil,
	} {
		dir := t.TempDir()
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), crasher+"="+how, "LAGWRIGHT_STATE="+dir)
		if err := cmd.Run(); (err == nil) != (how == "not") {
			t.Fatalf("%s: %v", how, err)
		}
		b := opened(t, dir)
		report := b.Crashed()
		for _, words := range want {
			if !strings.Contains(report, words) {
				t.Errorf("%s: there is no %q in\n%s", how, words, report)
			}
		}
		if strings.Contains(report, "anna") || strings.Contains(report, os.Args[0]) || (report == "") != (how == "not") {
			t.Errorf("%s: the report says\n%s", how, report)
		}
		if b.Crashed() != "" {
			t.Errorf("%s: it is told a second time", how)
		}
		for _, words := range want {
			if !strings.Contains(b.Report(), words) {
				t.Errorf("%s: there is no %q in the log after it was told:\n%s", how, words, b.Report())
			}
		}
	}
}
