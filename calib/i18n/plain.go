package i18n

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// failure is an error that says a phrase, and keeps what it was made of for Plain.
type failure struct {
	said    error // in the language that was in use
	english string
	with    []any
}

func (f *failure) Error() string { return f.said.Error() }
func (f *failure) Unwrap() error { return f.said }

// hidden stands for what is left out.
const hidden = "…"

// known are errors whose words are fixed where they are made.
var known = []error{
	context.Canceled, context.DeadlineExceeded, errors.ErrUnsupported,
	fs.ErrInvalid, fs.ErrPermission, fs.ErrExist, fs.ErrNotExist, fs.ErrClosed,
	io.EOF, io.ErrUnexpectedEOF, io.ErrShortWrite, io.ErrShortBuffer, io.ErrClosedPipe, io.ErrNoProgress,
	strconv.ErrSyntax, strconv.ErrRange,
}

// Plain is an error for the log: in English, and without whatever might name a
// device, a voice, a song, a file or a person. Of a phrase what fills its verbs is
// left out, but for numbers, and errors, which are made plain in turn. An error of
// the system says what failed and why, not at which file. Any other has words that
// may hold anything, and nothing tells names from words: it gives those that it
// wraps, else its type.
func Plain(err error) string {
	switch e := err.(type) {
	case nil:
		return ""
	case *failure:
		return unnamed(e.english, e.with)
	case *fixed:
		return e.told.plain()
	case *fs.PathError:
		return e.Op + ": " + Plain(e.Err)
	case *os.LinkError:
		return e.Op + ": " + Plain(e.Err)
	case *os.SyscallError:
		return e.Syscall + ": " + Plain(e.Err)
	case syscall.Errno:
		return e.Error()
	case interface{ Unwrap() error }:
		if inner := e.Unwrap(); inner != nil {
			return Plain(inner)
		}
	case interface{ Unwrap() []error }:
		if words := plainAll(e.Unwrap()); words != "" {
			return words
		}
	case interface{ ExitCode() int }: // a program that failed
		return "exit status " + strconv.Itoa(e.ExitCode())
	}
	if slices.Contains(known, err) {
		return err.Error()
	}
	switch v := reflect.ValueOf(err); {
	case v.CanInt():
		return fmt.Sprintf("%T %d", err, v.Int())
	case v.CanUint():
		return fmt.Sprintf("%T %d", err, v.Uint())
	}
	return fmt.Sprintf("%T", err)
}

// plainAll gives several errors, each once: what a sentence tells of its cause need
// not follow it.
func plainAll(errs []error) (words string) {
	for _, err := range errs {
		one := Plain(err)
		switch {
		case words == "":
			words = one
		case !strings.Contains(words, one):
			words += "; " + one
		}
	}
	return words
}

// plain is what was told as Plain gives it.
func (t Message) plain() string {
	s := t.said()
	return unnamed(s.english(), s.args(func(inner Message) any { return spelled(inner.plain()) }))
}

// unnamed fills a phrase in English with no more than Plain lets through.
func unnamed(english string, args []any) string {
	if !strings.Contains(english, "%") {
		return english // a single thing may go without its number
	}
	let := make([]any, len(args))
	for i, a := range args {
		let[i] = letThrough(a)
	}
	return fmt.Errorf(english, let...).Error() // not Sprintf, which does not know %w
}

// letThrough is what may fill a verb: bare numbers, and words that are plain already.
// Nothing else reaches package fmt, so that no verb can bring a name to light.
func letThrough(arg any) any {
	switch a := arg.(type) {
	case spelled, time.Duration:
		return a
	case Message:
		return spelled(a.plain())
	case error:
		return spelled(Plain(a))
	case fmt.Stringer, fmt.Formatter: // a number that has words of its own
		return spelled(hidden)
	}
	switch v := reflect.ValueOf(arg); {
	case !v.IsValid():
	case v.CanInt():
		return v.Int()
	case v.CanUint():
		return v.Uint()
	case v.CanFloat():
		return v.Float()
	}
	return spelled(hidden)
}

// spelled fills any verb with itself.
type spelled string

// Format implements fmt.Formatter.
func (s spelled) Format(f fmt.State, _ rune) { io.WriteString(f, string(s)) }

// Error lets it fill %w.
func (s spelled) Error() string { return string(s) }
