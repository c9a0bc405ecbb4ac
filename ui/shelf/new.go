package shelf

import (
	"slices"
	"strings"

	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
)

// beginForm asks for a new machine.
type beginForm struct {
	Name, Voices            *kit.Field
	notches, turns, perBeat *kit.Field
	Tempo, tolerance        *kit.Field
}

// AskMachine asks for a new machine, and then for its microphones where the computer has
// something to record from.
func (p *Pane) AskMachine() {
	if !p.d.Free() {
		return
	}
	f := newBeginForm(p.d.Prefs.Tolerance())
	p.Begin = f
	p.d.Form(i18n.L("New machine"), i18n.L("Begin"), f.items(), func() {
		before := p.d.Bench
		p.Create(f.machine())
		if inputs, err := p.d.Sound.Inputs(); p.d.Bench != before && err == nil && len(inputs) > 0 {
			p.acts.Microphones()
		}
	})
	p.d.Focus(f.Name)
}

func newBeginForm(toleranceMS float64) *beginForm {
	f := &beginForm{
		Name: kit.NewName(""), Voices: kit.NewName(""), notches: kit.NewCount("", 1, 9999, true), turns: kit.NewNumber("", 0.0001, 1000, true),
		perBeat: kit.NewCount("1", 1, 24, false), Tempo: kit.NewNumber("", machine.MinTempoBPM, machine.MaxTempoBPM, false),
		tolerance: kit.NewNumber(kit.Digits(toleranceMS), 0.5, 100, false),
	}
	f.Name.SetPlaceHolder(i18n.L("what you call it"))
	f.Voices.SetPlaceHolder(i18n.L("drum, block, bar"))
	f.notches.SetPlaceHolder(i18n.L("in a full turn; leave empty if unknown"))
	f.turns.SetPlaceHolder(i18n.L("such as 0.6 or 1/8"))
	f.Voices.Validator = validVoices
	inRange := f.turns.Validator
	f.turns.Validator = func(s string) error {
		if strings.TrimSpace(s) == "" && strings.TrimSpace(f.notches.Text) != "" {
			return i18n.Errorf("needed where the notches are given")
		}
		return inRange(s)
	}
	return f
}

// validVoices accepts a list of names, each once.
func validVoices(s string) error {
	all := names(s)
	slices.Sort(all)
	switch {
	case len(all) == 0:
		return i18n.Errorf("at least one name")
	case len(slices.Compact(slices.Clone(all))) < len(all):
		return i18n.Errorf("each name once")
	}
	return nil
}

func (f *beginForm) items() []*widget.FormItem {
	return []*widget.FormItem{
		kit.Item(i18n.L("Machine"), "", f.Name),
		kit.Item(i18n.L("Voices"), i18n.L("separated by commas; the first one is tuned first"), f.Voices),
		kit.Item(i18n.L("Notches of the index plate"), "", f.notches),
		kit.Item(i18n.L("Turns of the plate in a beat"), i18n.L("leave empty if unknown: the first move teaches the step"), f.turns),
		kit.Item(i18n.L("Reference hits per beat"), i18n.L("how often the reference strikes in one beat"), f.perBeat),
		kit.Item(i18n.L("Tempo"), i18n.L("of the first song, in BPM"), f.Tempo),
		kit.Item(i18n.L("Tolerance"), i18n.L("in ms: a lag within it counts as together"), f.tolerance),
	}
}

// machine returns the machine as the form has it.
func (f *beginForm) machine() machine.Machine {
	m := NewMachine(f.Name.Text, f.Voices.Text, kit.ValueOf(f.Tempo), kit.ValueOf(f.tolerance))
	m.Build.Plate = calib.Plate{NotchesPerTurn: int(kit.ValueOf(f.notches)), TurnsPerBeat: kit.ValueOf(f.turns)}
	m.Build.PerBeat = int(kit.ValueOf(f.perBeat))
	return m
}

// NewMachine makes a machine of which nothing else is known yet.
func NewMachine(name, voices string, tempoBPM, toleranceMS float64) machine.Machine {
	all, first := names(voices), ""
	if len(all) > 0 {
		first = all[0]
	}
	return machine.Machine{
		Build:       machine.Build{Name: strings.TrimSpace(name), Voices: all},
		ToleranceMS: toleranceMS,
		Target:      machine.Target{TempoBPM: tempoBPM, Voice: first},
	}
}

// names returns the names in a list with commas.
func names(list string) (all []string) {
	for _, v := range strings.FieldsFunc(list, func(r rune) bool { return strings.ContainsRune(",，、", r) }) {
		if v = strings.TrimSpace(v); v != "" {
			all = append(all, v)
		}
	}
	return all
}
