package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"strings"
)

// manual writes the manual page, in the man macros of groff_man(7).
func manual(_ context.Context, _ line, out io.Writer) error {
	fmt.Fprintf(out, ".TH LAGWRIGHT 1 \"%s\" \"Lagwright %s\" \"User Commands\"\n", cmp.Or(released, "undated"), cmp.Or(version, "built by hand"))
	fmt.Fprint(out, ".SH NAME\nlagwright \\- measure and set when the voices of a crank-driven instrument strike\n.SH SYNOPSIS\n")
	all := append([]verb{theWindow}, verbs()...)
	for i, v := range all {
		if i > 0 {
			fmt.Fprint(out, ".br\n")
		}
		fmt.Fprintf(out, "%s\n", typed(strings.TrimSpace("lagwright "+v.usage())))
	}
	fmt.Fprint(out, ".SH DESCRIPTION\n"+description+".SH COMMANDS\n")
	for _, v := range all {
		fmt.Fprintf(out, ".SS %s\n%s.\n", typed(strings.TrimSpace("lagwright "+v.Name)), roff(strings.ToUpper(v.About[:1])+v.About[1:]))
		for _, o := range v.Options {
			fmt.Fprintf(out, ".TP\n%s\n%s\n", typed(o.word()), roff(o.About))
		}
	}
	fmt.Fprint(out, ending)
	return nil
}

// roff writes text so that the page shows it as it is.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(text)
	if strings.HasPrefix(text, ".") || strings.HasPrefix(text, "'") {
		text = `\&` + text
	}
	return text
}

// typed is what one types, in bold.
func typed(text string) string { return `\fB` + roff(text) + `\fR` }

const description = `Without a verb the window opens.
It needs X11 or Wayland on Linux; the verbs need no screen.
Options may stand before, between or after what a verb works on.
Channels count from 1, a positive lag is late, and a positive setting makes the
voice earlier.
.PP
The voice is late by a time that changes with the tempo.
Two contact microphones tell by how much, one on the voice and one on the
reference, which is locked to the crank; Lagwright says by how many steps to
turn the index plate.
.PP
Stop the crank, wait until everything is at rest, then reach in.
Wear eye protection near shot, ear protection near loud voices.
.PP
A machine folder is the record of a machine: play another month into the same
one, and what it knows comes along.
`

const ending = `.SH EXIT STATUS
.TP
0
All that was asked for is done.
.TP
1
Something could not be done; standard error says what, in one line each.
.TP
2
The command line makes no sense, or there is no display for the window.
.TP
3
Of \fBcheck\fR: some setting no longer holds, or the plate stands elsewhere.
.TP
4
Of \fBcheck\fR: whether some setting still holds cannot be told by this take.
.SH ENVIRONMENT
.TP
.B LAGWRIGHT_HOME
Where new machines are kept, instead of the folder Lagwright in the home folder.
.TP
.B LAGWRIGHT_STATE
Where the log of the window is kept, instead of the place the system has for
that.
.TP
.B DISPLAY\fR, \fBWAYLAND_DISPLAY
The screen for the window.
.TP
.B PULSE_SERVER
The sound server to record from, instead of the one of this login.
.SH FILES
A machine is a folder with
.I machine.json
and the takes as WAV.
A take grows as
.I take\-001.part.wav
until it is finished.
After a crash all but its last second is there, and \fBmeasure\fR reads it.
.PP
The window keeps a log without names in
.I ~/.local/state/lagwright
on Linux; Help > Copy a diagnostic report copies its end.
.SH EXAMPLES
.nf
lagwright measure take\-001.wav
lagwright record \-seconds 20 \-measure
lagwright card \-paper A4 \-o card.pdf Lagwright/Mill
.fi
`
