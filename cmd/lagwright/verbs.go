package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
)

// option is one flag of a verb.
type option struct {
	name    string // without the dash
	takes   string // what follows it; nothing follows a switch
	about   string // with what holds without it in brackets
	files   string // the ending of the files that may follow, "*" for any, "/" for folders
	choices []string
}

// verb is one command that works without a screen.
type verb struct {
	name     string
	options  []option
	operands string // what it works on, as the help writes it
	files    string // of operands, as of options
	choices  []string
	or       []string // names of options that make another use of the verb, without the others
	about    string
	run      func(ctx context.Context, args []string, out io.Writer) error
}

// Options that several verbs have.
var (
	asJSON     = option{name: "json", about: "one JSON array instead of words"}
	reference  = option{name: "reference", takes: "N", about: "channel of the microphone locked to the crank, counted from 1 (1)"}
	onVoice    = option{name: "voice", takes: "N", about: "channel of the microphone on the voice (2)"}
	onPaper    = option{name: "paper", takes: "A5|A4|Letter", about: "size of the page (A5)", choices: []string{"A5", "A4", "Letter"}}
	intoFigure = option{name: "o", takes: "FILE", about: "a .png, .svg or .pdf (.png in the session folder)", files: "*"}
)

// sessionOnly is what several verbs work on.
const sessionOnly = "SESSION"

// theWindow is what there is without a verb.
var theWindow = verb{options: []option{{name: "practice", about: "with the simulated machine"}}, operands: "[SESSION|RECORDING]", files: "*", or: []string{"practice"},
	about: "open the window, if you like with a session, its zip or a recording"}

// verbs is the one table that help, manual page, completions and main go by.
func verbs() []verb {
	return []verb{
		{name: "measure", operands: "FILE...", files: ".wav", about: "read the lag from recordings", run: measure, options: []option{
			asJSON, reference, onVoice,
			{name: "every", takes: "N", about: "beats from one voice hit to the next, 0 = any (0)"},
			{name: "per-beat", takes: "N", about: "reference hits in a beat (1)"},
		}},
		{name: "record", about: "record a take from a device of this computer", run: recordTake, or: []string{"list", "json"}, options: []option{
			{name: "list", about: "the devices to record from, numbered"},
			{name: "json", about: "the list as one JSON array"},
			{name: "device", takes: "NAME|N", about: "a device by its name or number (the computer's own choice)"},
			{name: "rate", takes: "HZ", about: "frames a second (what the device does by itself)"},
			{name: "channels", takes: "N", about: "how many of its channels to record, 2 to 16 (all)"},
			{name: "seconds", takes: "S", about: "how long to record (until Ctrl-C)"},
			reference, onVoice,
			{name: "measure", about: "read the lag once it is recorded"},
			{name: "o", takes: "FILE", about: "a .wav (the next free take-001.wav)", files: ".wav"},
		}},
		{name: "demo", about: "play the guided loop on the simulated machine", run: demo, options: []option{
			{name: "out", takes: "DIR", about: "where it leaves its session (a new folder among the sessions)", files: "/"},
			{name: "seed", takes: "N", about: "the luck of the simulated machine (1)"},
		}},
		{name: "curve", operands: sessionOnly, files: "/", about: "draw lag against tempo", run: curve, options: []option{onPaper, intoFigure}},
		{name: "card", operands: sessionOnly, files: "/", about: "draw the setting card", run: card, options: []option{onPaper,
			{name: "o", takes: "FILE", about: "a .png, .svg, .pdf or .csv (.png in the session folder)", files: "*"},
		}},
		{name: "table", operands: sessionOnly, files: "/", about: "draw each setting with the tempos at which it stays tight", run: table, options: []option{onPaper,
			{name: "o", takes: "FILE", about: "a .png, .svg, .pdf or .csv (.png in the session folder)", files: "*"},
		}},
		{name: "report", operands: sessionOnly, files: "/", about: "a take on one page", run: reportTake, options: []option{
			{name: "take", takes: "N", about: "which take (the last)"},
			{name: "voice", takes: "NAME", about: "and which of its voices (the one the take was aimed at)"},
			onPaper, intoFigure,
		}},
		{name: "creep", operands: sessionOnly, files: "/", about: "draw how each voice's lag has moved from day to day", run: creep, options: []option{onPaper,
			{name: "o", takes: "FILE", about: "a .png, .svg, .pdf or .csv (.png in the session folder)", files: "*"},
		}},
		{name: "check", operands: "SESSION RECORDING", files: "*", about: "say whether the settings still hold by a take of today", run: check, options: []option{
			{name: "json", about: "one JSON object instead of words"},
			{name: "setting", takes: "N", about: "where the plate stood in it (where the session has it)"},
		}},
		{name: "readings", operands: sessionOnly, files: "/", about: "every reading of a session as a table", run: readings, options: []option{
			{name: "o", takes: "FILE", about: "a .csv (standard output)", files: ".csv"},
		}},
		{name: "version", about: "say which Lagwright this is", run: sayVersion},
		{name: "manual", about: "write the manual page", run: manual},
		{name: "completions", operands: strings.Join(shells, "|"), choices: shells, about: "write what completes this command line in a shell", run: completions},
	}
}

// usage is a verb's command line, with a second one where it has another use.
func (v verb) usage() string {
	line := v.name
	var other []string
	for _, o := range v.options {
		if o.name != "o" && !slices.Contains(v.or, o.name) {
			line += " [" + o.word() + "]"
		}
	}
	for _, name := range v.or {
		other = append(other, "[-"+name+"]")
	}
	if v.operands != "" {
		line += " " + v.operands
	}
	for _, o := range v.options {
		if o.name == "o" {
			line += " [" + o.word() + "]"
		}
	}
	if len(other) > 0 {
		line += " | " + strings.Trim(other[0], "[]") + " " + strings.Join(other[1:], " ")
	}
	return strings.TrimSpace(line)
}

// word is an option as one types it.
func (o option) word() string { return strings.TrimSpace("-" + o.name + " " + o.takes) }

// help is what the program can do.
func help(out io.Writer) {
	fmt.Fprint(out, "Lagwright measures and sets when the voices of a crank-driven instrument strike.\n\n")
	for _, v := range append([]verb{theWindow}, verbs()...) {
		fmt.Fprintf(out, "  lagwright %s\n      %s\n", v.usage(), v.about)
		v.explain(out, "        ")
	}
}

// explain writes a line for each option of a verb.
func (v verb) explain(out io.Writer, indent string) {
	widest := 0
	for _, o := range v.options {
		widest = max(widest, len(o.word()))
	}
	for _, o := range v.options {
		fmt.Fprintf(out, "%s%-*s  %s\n", indent, widest, o.word(), o.about)
	}
}
