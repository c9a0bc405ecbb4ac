package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"

	"lagwright/plotting"
)

// option is one flag of a verb.
type option struct {
	name    string // without the dash
	value   any    // what holds without it: 0, say; nil = nothing, or of a switch that it is off
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
	run      func(ctx context.Context, l line, out io.Writer) error
}

// Options that several verbs have.
var (
	asJSON     = option{name: "json", about: "one JSON array instead of words"}
	reference  = option{name: "reference", value: 1, takes: "N", about: "channel of the microphone locked to the crank, counted from 1 (1)"}
	onVoice    = option{name: "voice", value: 2, takes: "N", about: "channel of the microphone on the voice (2)"}
	onPaper    = option{name: "paper", value: "A5", takes: "A5|A4|Letter", about: "size of the page (A5)", choices: []string{"A5", "A4", "Letter"}}
	ofList     = option{name: "list", takes: "NAME", about: "a set list (the one in hand)"}
	intoTable  = option{name: "o", takes: "FILE", about: "a .png, .svg, .pdf or .csv (.png in the machine folder)", files: "*"}
	intoFigure = option{name: "o", takes: "FILE", about: "a .png, .svg or .pdf (.png in the machine folder)", files: "*"}
)

// machineOnly is what several verbs work on.
const machineOnly = "MACHINE"

// theWindow is what there is without a verb.
var theWindow = verb{options: []option{
	{name: "practice", about: "with the simulated machine"},
	{name: "fullscreen", about: "on the whole screen, large and to be touched: for a display on the machine"},
}, operands: "[MACHINE|RECORDING]", files: "*", or: []string{"practice"},
	about: "open the window, if you like with a machine, its zip or a recording"}

// verbs is the one table that help, manual page, completions and main go by.
func verbs() []verb {
	return []verb{
		{name: "measure", operands: "FILE...", files: ".wav", about: "read the lag from recordings", run: measure, options: []option{
			asJSON, reference, onVoice,
			{name: "every", value: 0, takes: "N", about: "beats from one voice hit to the next, 0 = any (0)"},
			{name: "per-beat", value: 1, takes: "N", about: "reference hits in a beat (1)"},
		}},
		{name: "record", about: "record a take from a device of this computer", run: recordTake, or: []string{"list", "json"}, options: []option{
			{name: "list", about: "the devices to record from, numbered"},
			{name: "json", about: "the list as one JSON array"},
			{name: "device", value: several(nil), takes: "NAME|N", about: "a device by its name or number (the computer's own choice)"},
			{name: "rate", value: 0, takes: "HZ", about: "frames a second (what the device does by itself)"},
			{name: "channels", value: 0, takes: "N", about: "how many of its channels to record, 2 to 16 (all)"},
			{name: "seconds", value: 0.0, takes: "S", about: "how long to record (until Ctrl-C)"},
			reference, onVoice,
			{name: "measure", about: "read the lag once it is recorded"},
			{name: "o", takes: "FILE", about: "a .wav (the next free take-001.wav)", files: ".wav"},
		}},
		{name: "demo", about: "play the guided loop on the simulated machine", run: demo, options: []option{
			{name: "out", takes: "DIR", about: "where it leaves its machine (a new folder among the machines)", files: "/"},
			{name: "seed", value: uint64(1), takes: "N", about: "the luck of the simulated machine (1)"},
		}},
		{name: "curve", operands: machineOnly, files: "/", about: "draw lag against tempo", run: figureOf(plotting.DrawCurve(-1)).verb, options: []option{ofList, onPaper, intoFigure}},
		{name: "card", operands: machineOnly, files: "/", about: "draw the setting card", run: figureOf(plotting.DrawCard).verb, options: []option{ofList, onPaper, intoTable}},
		{name: "table", operands: machineOnly, files: "/", about: "draw each setting with the tempos at which it stays tight", run: figureOf(plotting.DrawTable).verb, options: []option{ofList, onPaper, intoTable}},
		{name: "report", operands: machineOnly, files: "/", about: "a take on one page", run: reportTake, options: []option{
			{name: "take", value: 0, takes: "N", about: "which take (the last)"},
			{name: "voice", takes: "NAME", about: "and which of its voices (the one the take was aimed at)"},
			onPaper, intoFigure,
		}},
		{name: "days", operands: machineOnly, files: "/", about: "draw how each voice's lag has moved from day to day", run: figureOf(plotting.DrawDays).verb, options: []option{onPaper, intoTable}},
		{name: "check", operands: "MACHINE RECORDING", files: "*", about: "say whether the settings still hold by a take of today", run: check, options: []option{
			{name: "json", about: "one JSON object instead of words"},
			ofList,
			{name: "setting", takes: "N", about: "where the plate stood in it (where the machine has it)"},
		}},
		{name: "readings", operands: machineOnly, files: "/", about: "every reading of a machine as a table", run: readings, options: []option{
			{name: "o", takes: "FILE", about: "a .csv (standard output)", files: ".csv"},
		}},
		{name: "version", about: "say which Lagwright this is", run: sayVersion},
		{name: "manual", about: "write the manual page", run: manual},
		{name: "completions", operands: strings.Join(shells, "|"), choices: shells, about: "write what completes this command line in a shell", run: completions},
	}
}

// line is a command line that was read.
type line struct {
	*flag.FlagSet
	operands []string
}

// told is what a command line says, or what holds without it.
func told[T any](l line, name string) T { return l.Lookup(name).Value.(flag.Getter).Get().(T) }

// several is an option that may be given more than once.
type several []string

func (s *several) String() string { return strings.Join(*s, ", ") }
func (s *several) Get() any       { return *s }
func (s *several) Set(one string) error {
	*s = append(*s, one)
	return nil
}

// flags are the verb's options.
func (v verb) flags() *flag.FlagSet {
	flags := flag.NewFlagSet(v.name, flag.ContinueOnError)
	for _, o := range v.options {
		switch value := o.value.(type) {
		case int:
			flags.Int(o.name, value, "")
		case uint64:
			flags.Uint64(o.name, value, "")
		case float64:
			flags.Float64(o.name, value, "")
		case string:
			flags.String(o.name, value, "")
		case several:
			flags.Var(&value, o.name, "")
		default:
			if o.takes == "" {
				flags.Bool(o.name, false, "")
			} else {
				flags.String(o.name, "", "")
			}
		}
	}
	return flags
}

// read reads a command line of the verb.
func (v verb) read(args []string) (line, error) {
	l := line{FlagSet: v.flags()}
	var err error
	if l.operands, err = parse(l.FlagSet, args); err != nil {
		return l, err
	}
	switch n := len(l.operands); {
	case v.operands == "" && n > 0 && l.Lookup("o") != nil:
		err = usageError{fmt.Errorf("too many words: %q; the file to write goes after -o", l.operands[0])}
	case v.operands == "" && n > 0:
		err = usageError{fmt.Errorf("%q is one word too many", l.operands[0])}
	case v.operands == machineOnly && (n != 1 || l.operands[0] == ""):
		err = usageError{errors.New("name one machine folder")}
	case v.choices != nil && (n != 1 || !slices.Contains(v.choices, l.operands[0])):
		err = usageError{errors.New("name one: " + strings.Join(v.choices, ", "))}
	}
	return l, err
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
