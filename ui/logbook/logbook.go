// Package logbook keeps a log of what the window did, and what a crash leaves
// behind, so that a report can say what happened without saying about whom: errors are
// logged by i18n.Plain, and what others say goes through a sieve. It is pure Go and
// knows nothing of the window.
//
// The log is written with log/slog by whoever has something to say; Open makes it
// slog's default, and that of package log, in which the toolkit complains. Nothing
// goes to standard error. Several windows may share one log; the verbs of the command
// line keep none. It is English in every language: it is for whoever mends things.
//
// Info is for what happened (start, machine opened, take, end), Warn for what a
// person was told or the toolkit complains of. Kinds and counts are logged, not names:
// the sizes of a machine, a take's number and outcome.
//
// An error is given to slog as an error, never as err.Error(). An error that is no
// phrase gives its type only, so whatever the window may tell is made by i18n.Errorf
// or i18n.Fixed, and what may name something fills a verb. A value that is no number,
// word or error gives its type. A panic of ours is given no names: the sieve finds
// paths, quoted words and the account's name, but a name among other words slips
// through.
//
// A crash of any goroutine, or of the runtime itself, is written beside the log by the
// runtime; what C code brings down without the runtime is not. Why the runtime gave
// up ("concurrent map writes") it says on standard error only, but the stacks tell. The
// next start offers the crash together with the last machine, once, and keeps it in the
// log. kill -ABRT makes one to try.
//
// Log files are rotated here, in a dozen lines: a package for it (lumberjack) counts in
// whole MB, keeps a goroutine for good, and opens the log again where something is logged
// after Close.
package logbook

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"sync"
)

// Names of the files, and how large they get.
const (
	logName   = "lagwright.log"
	olderName = "lagwright.1.log"
	crashName = "crash.txt"
	mostBytes = 512 << 10 // of one log; with the older one twice that
	mostCrash = 256 << 10 // of a crash that is shown
)

// Book is the log of one run of the program. It may be used from any goroutine.
type Book struct {
	dir, version string

	mu    sync.Mutex
	file  *os.File
	size  int64
	crash *os.File
}

// Dir is where the log lies: $LAGWRIGHT_STATE, else the place that the system has
// for such ($XDG_STATE_HOME or ~/.local/state, ~/Library/Logs, %LocalAppData%).
func Dir() (string, error) {
	if dir := os.Getenv("LAGWRIGHT_STATE"); dir != "" {
		return dir, nil
	}
	if runtime.GOOS == "windows" {
		dir, err := os.UserCacheDir()
		return filepath.Join(dir, "Lagwright"), err
	}
	if dir := os.Getenv("XDG_STATE_HOME"); filepath.IsAbs(dir) && runtime.GOOS != "darwin" {
		return filepath.Join(dir, "lagwright"), nil
	}
	home, err := os.UserHomeDir()
	if runtime.GOOS == "darwin" {
		return filepath.Join(home, "Library", "Logs", "Lagwright"), err
	}
	return filepath.Join(home, ".local", "state", "lagwright"), err
}

// Open goes on with the log in a folder, which it makes, and has a crash of any
// goroutine written beside it. version is that of the program. A log that cannot
// be written is an error; the program does as well without.
func Open(dir, version string) (*Book, error) {
	b := &Book{dir: dir, version: version}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("there is no log, because its folder cannot be made: %w", err)
	}
	if err := b.begin(); err != nil {
		return nil, err
	}
	crash, err := os.OpenFile(filepath.Join(dir, crashName), os.O_CREATE|os.O_APPEND|os.O_RDWR, 0o600)
	if err != nil {
		b.file.Close()
		return nil, fmt.Errorf("there is no log, because crashes cannot be written beside it: %w", err)
	}
	b.crash = crash
	if err := debug.SetCrashOutput(crash, debug.CrashOptions{}); err != nil {
		b.Close()
		return nil, fmt.Errorf("crashes cannot be written: %w", err)
	}
	debug.SetTraceback("all") // in a crash the goroutine that waits often tells more than the one that failed
	slog.SetLogLoggerLevel(slog.LevelWarn)
	slog.SetDefault(slog.New(slog.NewTextHandler(b, &slog.HandlerOptions{ReplaceAttr: plainAttr})))
	slog.Info("start", "version", version, "system", runtime.GOOS, "processor", runtime.GOARCH, "go", runtime.Version())
	return b, nil
}

// begin opens the log, behind what is there.
func (b *Book) begin() error {
	file, err := os.OpenFile(filepath.Join(b.dir, logName), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("there is no log: %w", err)
	}
	info, err := file.Stat()
	if err != nil {
		file.Close()
		return fmt.Errorf("there is no log: %w", err)
	}
	b.file, b.size = file, info.Size()
	return nil
}

// Write appends a line; it is what slog calls. A full log becomes the older one.
func (b *Book) Write(line []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.file == nil {
		return len(line), nil // closed, or lost on the way: the program goes on
	}
	if b.size+int64(len(line)) > mostBytes {
		b.file.Close()
		b.file = nil
		_ = os.Rename(filepath.Join(b.dir, logName), filepath.Join(b.dir, olderName)) // under Windows another window may hold it; then it grows
		if err := b.begin(); err != nil {
			return 0, err
		}
	}
	n, err := b.file.Write(line)
	b.size += int64(n)
	return n, err
}

// Over says that the program ends because it was asked to: what the toolkit says
// after that, whose queue may be closed under its own feet, is no crash to offer.
func (b *Book) Over() {
	if b != nil {
		_ = debug.SetCrashOutput(nil, debug.CrashOptions{})
	}
}

// Close ends the log. What is logged after it is dropped. A nil book has nothing
// to close.
func (b *Book) Close() {
	if b == nil {
		return
	}
	slog.Info("end")
	b.Over()
	b.mu.Lock()
	defer b.mu.Unlock()
	b.file.Close()
	b.crash.Close()
	b.file = nil
}
