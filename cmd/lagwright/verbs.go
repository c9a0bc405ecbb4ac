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
	Name    string // without the dash
	value   any    // what holds without it: 0, say; nil = nothing, or of a switch that it is off
	Takes   string // what follows it; nothing follows a switch
	About   string // with what holds without it in brackets
	files   string // the endings of the files that may follow, with a bar between them; "*" for any, "/" for folders
	choices []string
}

// verb is one command that works without a screen.
type verb struct {
	Name    string
	Options []option
	On      option   // what it works on
	or      []string // names of options that make another use of the verb, without the others
	About   string
	run     func(ctx context.Context, l line, out io.Writer) error
}

// Options that several verbs have.
var (
	asJSON     = option{Name: "json", About: "one JSON array instead of words"}
	reference  = option{Name: "reference", value: 1, Takes: "N", About: "channel of the reference's microphone, counted from 1 (1)"}
	onVoice    = option{Name: "voice", value: 2, Takes: "N", About: "channel of the microphone on the voice (2)"}
	onPaper    = option{Name: "paper", value: "A5", Takes: "A5|A4|Letter", About: "size of the page (A5)", choices: []string{"A5", "A4", "Letter"}}
	ofList     = option{Name: "list", Takes: "NAME", About: "a set list (the chosen one)"}
	intoTable  = option{Name: "o", Takes: "FILE", About: "a .png, .svg, .pdf or .csv (.png in the machine folder)", files: "*"}
	aMachine   = option{Takes: "MACHINE", files: "/"} // what they work on
	intoFigure = option{Name: "o", Takes: "FILE", About: "a .png, .svg or .pdf (.png in the machine folder)", files: "*"}
)

// theWindow is what there is without a verb.
var theWindow = verb{Options: []option{
	{Name: "practice", About: "with the simulated machine"},
	{Name: "fullscreen", About: "on the whole screen, with buttons for fingers: for a display on the machine"},
}, On: option{Takes: "[MACHINE|RECORDING]", files: "*"}, or: []string{"practice"},
	About: "open the window, if you like with a machine, its zip or a recording"}

// verbs is the one table that help, manual page, completions and main go by. Beside it main
// knows help itself, and propose, which is for the shells.
func verbs() []verb {
	return []verb{
		{Name: "measure", On: option{Takes: "FILE...", files: ".wav|.flac"}, About: "read the lag from recordings", run: measure, Options: []option{
			asJSON, reference, onVoice,
			{Name: "every", value: 0, Takes: "N", About: "beats from one voice hit to the next, 0 = any (0)"},
			{Name: "per-beat", value: 1, Takes: "N", About: "reference hits in a beat (1)"},
		}},
		{Name: "record", About: "record a take from a device of this computer", run: recordTake, or: []string{"list", "json"}, Options: []option{
			{Name: "list", About: "the devices to record from, numbered"},
			{Name: "json", About: "the list as one JSON array"},
			{Name: "device", value: several(nil), Takes: "NAME|N", About: "a device by its name or number (system default)"},
			{Name: "rate", value: 0, Takes: "HZ", About: "frames a second (device default)"},
			{Name: "channels", value: 0, Takes: "N", About: "how many of its channels to record, 2 to 16 (all)"},
			{Name: "seconds", value: 0.0, Takes: "S", About: "how long to record (until Ctrl-C)"},
			reference, onVoice,
			{Name: "measure", About: "read the lag once it is recorded"},
			{Name: "o", Takes: "FILE", About: "a .wav (the next free take-001.wav)", files: ".wav"},
		}},
		{Name: "demo", About: "play the guided loop on the simulated machine", run: demo, Options: []option{
			{Name: "out", Takes: "DIR", About: "where it leaves its machine (a new folder among the machines)", files: "/"},
			{Name: "seed", value: uint64(1), Takes: "N", About: "random seed of the simulated machine (1)"},
			{Name: "sweep", About: "learn a set list by a sweep and a check"},
		}},
		{Name: "curve", On: aMachine, About: "draw lag against tempo", run: figure(plotting.DrawCurve(-1)), Options: []option{ofList, onPaper, intoFigure}},
		{Name: "card", On: aMachine, About: "draw the setting card", run: figure(plotting.DrawCard), Options: []option{ofList, onPaper, intoTable}},
		{Name: "table", On: aMachine, About: "draw each setting with the tempos at which it stays tight", run: figure(plotting.DrawTable), Options: []option{ofList, onPaper, intoTable}},
		{Name: "report", On: aMachine, About: "draw a take's report, on one page", run: reportTake, Options: []option{
			{Name: "take", value: 0, Takes: "N", About: "which take, 0 = the last (0)"},
			{Name: "voice", Takes: "NAME", About: "which of its voices (the one the take was played for)"},
			onPaper, intoFigure,
		}},
		{Name: "days", On: aMachine, About: "draw how each voice's lag has moved from day to day", run: figure(plotting.DrawDays), Options: []option{onPaper, intoTable}},
		{Name: "check", On: option{Takes: "MACHINE RECORDING...", files: "*"}, About: "say by today's takes whether the settings still hold", run: check, Options: []option{
			{Name: "json", About: "one JSON object instead of words"},
			ofList,
			{Name: "voice", value: several(nil), Takes: "NAME", About: "the voice of each recording, or one for all (the one worked on last)"},
			{Name: "setting", Takes: "N", About: "where the plate stood in these takes (as entered in the machine)"},
		}},
		{Name: "readings", On: aMachine, About: "write every reading of a machine as a table", run: readings, Options: []option{
			{Name: "o", Takes: "FILE", About: "a .csv (standard output)", files: ".csv"},
		}},
		{Name: "version", About: "say which Lagwright this is", run: sayVersion},
		{Name: "manual", About: "print the manual page", run: manual},
		{Name: "completions", On: option{Takes: strings.Join(shells, "|"), choices: shells}, About: "print shell completion", run: completions},
	}
}

// line is a command line that was read.
type line struct {
	*flag.FlagSet
	operands []string
}

// flagValue is what a command line says, or what holds without it.
func flagValue[T any](l line, name string) T { return l.Lookup(name).Value.(flag.Getter).Get().(T) }

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
	flags := flag.NewFlagSet(v.Name, flag.ContinueOnError)
	for _, o := range v.Options {
		switch value := o.value.(type) {
		case int:
			flags.Int(o.Name, value, "")
		case uint64:
			flags.Uint64(o.Name, value, "")
		case float64:
			flags.Float64(o.Name, value, "")
		case string:
			flags.String(o.Name, value, "")
		case several:
			flags.Var(&value, o.Name, "")
		default:
			if o.Takes == "" {
				flags.Bool(o.Name, false, "")
			} else {
				flags.String(o.Name, "", "")
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
	case v.On.Takes == "" && n > 0 && l.Lookup("o") != nil:
		err = usageError{fmt.Errorf("too many words: %q; the file to write goes after -o", l.operands[0])}
	case v.On.Takes == "" && n > 0:
		err = usageError{fmt.Errorf("%q is one word too many", l.operands[0])}
	case v.On.Takes == aMachine.Takes && (n != 1 || l.operands[0] == ""):
		err = usageError{errors.New("name one machine folder")}
	case v.On.choices != nil && (n != 1 || !slices.Contains(v.On.choices, l.operands[0])):
		err = usageError{errors.New("name one: " + strings.Join(v.On.choices, ", "))}
	}
	return l, err
}

// usage is a verb's command line, with a second one where it has another use.
func (v verb) usage() string {
	line, into, other := v.Name, "", " |"
	for _, o := range v.Options {
		switch word := " [" + o.word() + "]"; {
		case o.Name == "o":
			into = word
		case !slices.Contains(v.or, o.Name):
			line += word
		case other == " |":
			other += " " + o.word()
		default:
			other += word
		}
	}
	line += " " + v.On.Takes + into
	if v.or != nil {
		line += other
	}
	return strings.Join(strings.Fields(line), " ")
}

// word is an option as one types it.
func (o option) word() string { return strings.TrimSpace("-" + o.Name + " " + o.Takes) }

// help is what the program can do.
func help(out io.Writer) {
	fmt.Fprint(out, "Lagwright measures and sets when the voices of a crank-driven instrument strike.\n\n")
	for _, v := range append([]verb{theWindow}, verbs()...) {
		fmt.Fprintf(out, "  lagwright %s\n      %s\n", v.usage(), v.About)
		v.explain(out, "        ")
	}
}

// explain writes a line for each option of a verb.
func (v verb) explain(out io.Writer, indent string) {
	widest := 0
	for _, o := range v.Options {
		widest = max(widest, len(o.word()))
	}
	for _, o := range v.Options {
		fmt.Fprintf(out, "%s%-*s  %s\n", indent, widest, o.word(), o.About)
	}
}
