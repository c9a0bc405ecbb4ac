// Lagwright measures and sets when the voices of a crank-driven mechanical
// instrument strike. Without arguments it opens the window; its verbs work
// without a screen.
//
// What is written to standard output is the result; complaints go to standard
// error as one sentence each that names the file and says what to do.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"unicode"
)

// Exit statuses.
const (
	exitOK     = 0
	exitFailed = 1 // something could not be done
	exitUsage  = 2 // the command line makes no sense, or there is no display

	exitChanged = 3 // check: some setting no longer holds, or the plate stands elsewhere than told
	exitUnsure  = 4 // check: of some setting it cannot tell
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := dispatch(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

func dispatch(ctx context.Context, args []string, out, complaints io.Writer) int {
	if len(args) == 0 {
		return openWindow(ctx, args, complaints)
	}
	for _, v := range verbs() {
		if v.Name == args[0] {
			checked := &checkedWriter{to: out}
			l, err := v.read(args[1:])
			if err == nil {
				err = v.run(ctx, l, checked)
			}
			return report(v, errors.Join(err, checked.failure()), complaints)
		}
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		switch {
		case len(args) == 1:
			help(out)
			return exitOK
		case slices.Contains(names(), args[1]):
			return dispatch(ctx, []string{args[1], "-help"}, out, complaints)
		}
		fmt.Fprintf(complaints, "lagwright: there is no verb %q: try lagwright help\n", args[1])
		return exitUsage
	case "propose": // as the completions ask
		propose(args[1:], out)
		return exitOK
	case "-version", "--version":
		return dispatch(ctx, []string{"version"}, out, complaints)
	}
	return openWindow(ctx, args, complaints)
}

// checkedWriter remembers that a result could not be written, and drops the rest of it:
// who writes needs to look at no error.
type checkedWriter struct {
	to  io.Writer
	err error
}

func (w *checkedWriter) Write(p []byte) (int, error) {
	if w.err == nil {
		_, w.err = w.to.Write(p)
	}
	return len(p), nil
}

func (w *checkedWriter) failure() error {
	if w.err == nil {
		return nil
	}
	return fmt.Errorf("the result could not be written, check where it goes: %w", w.err)
}

// usageError is a command line that makes no sense.
type usageError struct{ error }

func report(v verb, err error, complaints io.Writer) int {
	var usage usageError
	var status statusError
	switch {
	case err == nil:
		return exitOK
	case errors.As(err, &status):
		return int(status)
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprintf(complaints, "usage: lagwright %s\n", v.usage())
		v.explain(complaints, "  ")
		return exitOK
	case errors.As(err, &usage):
		fmt.Fprintf(complaints, "lagwright %s: %s (usage: lagwright %s)\n", v.Name, oneLine(err), v.usage())
		return exitUsage
	case errors.Is(err, context.Canceled):
		fmt.Fprintf(complaints, "lagwright %s: stopped\n", v.Name)
	default:
		for _, one := range joined(err) {
			fmt.Fprintf(complaints, "lagwright %s: %s\n", v.Name, oneLine(one))
		}
	}
	return exitFailed
}

// joined returns the errors that were joined to one, each of which gets a line. Others
// hold several too, and say them in a sentence of their own.
func joined(err error) (all []error) {
	several, ok := err.(interface{ Unwrap() []error })
	if !ok || errors.Join(several.Unwrap()...).Error() != err.Error() {
		return []error{err}
	}
	for _, e := range several.Unwrap() {
		all = append(all, joined(e)...)
	}
	return all
}

// oneLine says what is wrong on one line, whatever the names in it hold: a terminal
// would do what control characters tell it to.
func oneLine(err error) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return ' '
		case unicode.IsControl(r):
			return '?'
		}
		return r
	}, strings.TrimSpace(err.Error()))
}

// flagErrors say in our words what package flag says in its own.
var flagErrors = []struct {
	words *regexp.Regexp
	ours  string
}{
	{regexp.MustCompile(`^(?:flag provided but not defined|bad flag syntax): `), "there is no option "},
	{regexp.MustCompile(`^flag needs an argument: (-.*)`), "$1 stands alone: what it takes goes after it"},
	{regexp.MustCompile(`^invalid (?:boolean )?value (".*") for (?:flag )?(-\S+): .*`), "$2 does not take $1"},
}

// parse reads flags that may stand before, between or after the operands.
func parse(flags *flag.FlagSet, args []string) (operands []string, err error) {
	flags.SetOutput(io.Discard)
	for {
		if err := flags.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			said := err.Error()
			for _, theirs := range flagErrors {
				said = theirs.words.ReplaceAllString(said, theirs.ours)
			}
			return nil, usageError{errors.New(said)}
		}
		rest := flags.Args()
		if len(rest) == 0 {
			return operands, nil
		}
		if len(args) > len(rest) && args[len(args)-len(rest)-1] == "--" {
			return append(operands, rest...), nil
		}
		operands, args = append(operands, rest[0]), rest[1:]
	}
}
