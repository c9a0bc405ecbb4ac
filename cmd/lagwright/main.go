// Lagwright measures and sets when the voices of a crank-driven mechanical
// instrument strike. Without arguments it opens the window; its verbs work
// without a screen.
//
// What is written to standard output is the result; complaints go to standard
// error as one sentence each that names the file and says what to do.
package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"unicode"
)

// Exit statuses.
const (
	exitOK     = 0
	exitFailed = 1 // something could not be done
	exitUsage  = 2 // the command line makes no sense, or there is no display
)

// verb is one command that works without a screen.
type verb struct {
	name, usage, about string
	run                func(ctx context.Context, args []string, out io.Writer) error
}

func verbs() []verb {
	return []verb{
		{"measure", "measure [-json] [-reference N] [-voice N] [-every N] [-per-beat N] FILE...", "read the lag from recordings", measure},
		{"record", "record [-device NAME|N] [-rate HZ] [-channels N] [-seconds S] [-reference N] [-voice N] [-measure] [-o FILE] | -list [-json]", "record a take from a device of this computer", recordTake},
		{"demo", "demo [-out DIR] [-seed N]", "play the guided loop on the simulated machine", demo},
		{"curve", "curve [-paper A5|A4|Letter] SESSION [-o FILE]", "draw lag against tempo (.png, .svg, .pdf)", curve},
		{"card", "card [-paper A5|A4|Letter] SESSION [-o FILE]", "draw the setting card (.png, .svg, .pdf, .csv)", card},
		{"report", "report [-take N] [-voice NAME] [-paper A5|A4|Letter] SESSION [-o FILE]", "a take on one page (.png, .svg, .pdf)", reportTake},
		{"readings", "readings SESSION [-o FILE]", "every reading of a session as a table (.csv)", readings},
	}
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := dispatch(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

func dispatch(ctx context.Context, args []string, out, complaints io.Writer) int {
	if len(args) == 0 {
		return openWindow(ctx, args, complaints)
	}
	for _, v := range verbs() {
		if v.name == args[0] {
			checked := &checkedWriter{to: out}
			err := v.run(ctx, args[1:], checked)
			return report(v, errors.Join(err, checked.failure()), complaints)
		}
	}
	switch {
	case slices.Contains([]string{"help", "-h", "-help", "--help"}, args[0]):
		help(out)
		return exitOK
	case args[0] == "-practice" || isFolder(args[0]):
		return openWindow(ctx, args, complaints)
	}
	fmt.Fprintf(complaints, "lagwright: there is no verb and no session folder %q: try lagwright help\n", args[0])
	return exitUsage
}

// checkedWriter remembers that a result could not be written.
type checkedWriter struct {
	to  io.Writer
	err error
}

func (w *checkedWriter) Write(p []byte) (int, error) {
	n, err := w.to.Write(p)
	w.err = cmp.Or(w.err, err)
	return n, err
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
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprintf(complaints, "usage: lagwright %s\n%s", v.usage, options)
		return exitOK
	case errors.As(err, &usage):
		fmt.Fprintf(complaints, "lagwright %s: %s (usage: lagwright %s)\n", v.name, oneLine(err), v.usage)
		return exitUsage
	case errors.Is(err, context.Canceled):
		fmt.Fprintf(complaints, "lagwright %s: stopped\n", v.name)
	default:
		for _, one := range joined(err) {
			fmt.Fprintf(complaints, "lagwright %s: %s\n", v.name, oneLine(one))
		}
	}
	return exitFailed
}

// joined returns the errors that were joined to one, each of which gets a line.
func joined(err error) (all []error) {
	several, ok := err.(interface{ Unwrap() []error })
	if !ok {
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

const options = `
  -json        one JSON object a file instead of words
  -reference N channel of the microphone locked to the crank, counted from 1 (1)
  -voice N     channel of the microphone on the voice (2)
  -every N     beats from one voice hit to the next, 0 = any (0)
  -per-beat N  reference hits in a beat (1)
  -list        the devices to record from, numbered
  -device X    a device by its number or name; the computer's own choice if none
  -rate HZ     frames a second (what the device does by itself)
  -channels N  how many of its channels to record, 2 to 16 (all)
  -seconds S   how long to record (until Ctrl-C)
  -measure     read the lag once it is recorded
  -out DIR     where the demo leaves its session
  -seed N      the luck of the simulated machine (1)
  -take N      which take a report is of (the last)
  -voice NAME  and which of its voices (the one the take was aimed at)
  -o FILE      .png, .svg or .pdf; a card also .csv (.png in the session folder);
               of readings: .csv (standard output);
               of a recording: .wav (the next free take-001.wav)
  -paper SIZE  A5, A4 or Letter (A5)
`

func help(out io.Writer) {
	fmt.Fprintln(out, "Lagwright measures and sets when the voices of a crank-driven instrument strike.")
	fmt.Fprintln(out)
	fmt.Fprintln(out, "  lagwright                 open the window")
	fmt.Fprintln(out, "  lagwright -practice       open the window with the simulated machine")
	fmt.Fprintln(out, "  lagwright SESSION         open the window with a session folder")
	for _, v := range verbs() {
		fmt.Fprintf(out, "  lagwright %s\n  %25s %s\n", v.usage, "", v.about)
	}
	fmt.Fprint(out, options)
}

// parse reads flags that may stand before, between or after the operands.
func parse(flags *flag.FlagSet, args []string) (operands []string, err error) {
	flags.SetOutput(io.Discard)
	for {
		if err := flags.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			return nil, usageError{err}
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
