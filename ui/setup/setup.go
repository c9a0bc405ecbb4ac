// Package setup asks how the machine is built and which microphone hears what.
package setup

import (
	"slices"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
)

// machineForm asks how the machine is built. What is left empty is not known.
type machineForm struct {
	Tolerance, perBeat *kit.Field
	Notches, turns     *kit.Field
	beats, Radius      *kit.Field // of the wheel
	behind, steady     *kit.Tick
	Voices             []*voiceRow
	table              *fyne.Container
	Scroll             *container.Scroll
	Problem            *widget.Label
	Keep               *kit.Button
	of                 machine.Build // before anything was typed
	unit               prefs.Unit
	practice           bool // its voices are the simulated ones
}

// Setup asks how a machine is built and what hears it.
type Setup struct {
	d    *desk.Desk
	hush func()       // ends what is listened to
	Mics *microphones // the dialog, while it is open
}

// New returns one; hush ends what is listened to.
func New(d *desk.Desk, hush func()) *Setup { return &Setup{d: d, hush: hush} }

// AskMachine asks how the machine is built, the plate first.
func (p *Setup) AskMachine() {
	if f := p.ShowMachine(); f != nil {
		p.d.Focus(f.Notches)
	}
}

// ShowMachine shows the form and returns it; nil where it may not be shown now.
func (p *Setup) ShowMachine() *machineForm {
	if !p.d.MayChange() {
		return nil
	}
	p.d.Commit()
	m := p.d.Machine()
	f := newMachineForm(m, p.d.Prefs.Unit())
	var d *kit.Dialog
	f.Keep = kit.NewButtonWithIcon(i18n.L("Keep"), theme.ConfirmIcon(), func() { p.keepMachine(f, d) }).Bright()
	cancel := kit.NewButtonWithIcon(i18n.L("Cancel"), theme.CancelIcon(), nil)
	d = p.d.Dialog(i18n.L("The machine"), f.content(), 900, 640, cancel, f.Keep)
	return f
}

// keepMachine keeps what the form says and takes it away; where that cannot be, the
// form says so.
func (p *Setup) keepMachine(f *machineForm, d *kit.Dialog) {
	b, tolerance, was, err := f.read()
	if err != nil {
		f.say(err)
		return
	}
	if err := p.d.Bench.EditMachine(b, tolerance, was); err != nil {
		f.say(err)
		return
	}
	d.Hide()
	p.d.Do(desk.Undoable(i18n.L("What you entered about the machine is saved.")), nil)
}

func newMachineForm(m machine.Machine, u prefs.Unit) *machineForm {
	b := m.Build
	f := &machineForm{
		Tolerance: kit.NewNumber(kit.Digits(m.ToleranceMS), 0.5, 100, false),
		perBeat:   kit.NewCount(strconv.Itoa(max(b.PerBeat, 1)), 1, 24, false),
		Notches:   kit.NewCount(kit.Digits(float64(b.Plate.NotchesPerTurn)), 1, 9999, true),
		turns:     kit.NewNumber(kit.Digits(b.Plate.TurnsPerBeat), 0.0001, 1000, true),
		beats:     kit.NewNumber(kit.Digits(b.Wheel.BeatsPerTurn), 0.0001, machine.MostBeatsPerTurn, true),
		Radius:    kit.NewNumber(u.Figure(b.Wheel.PinRadiusMM), 0.1/u.MM, machine.MostPinRadiusMM/u.MM, true),
		behind:    kit.NewTick(i18n.L("remind me"), b.Unidirectional, nil),
		steady:    kit.NewTick(i18n.L("one speed only"), b.Steady, nil),
		table:     container.NewVBox(), Problem: kit.Wrapped(""), of: b, unit: u, practice: b.PracticeSeed != 0,
	}
	for i, e := range []*kit.Field{f.Notches, f.turns, f.beats, f.Radius, f.Tolerance, f.perBeat} {
		if i < 4 { // the others have a value always
			e.SetPlaceHolder(i18n.L("not known"))
		}
		e.OnSubmitted = func(string) { f.Keep.OnTapped() }
	}
	f.Problem.Importance = widget.DangerImportance
	f.Problem.Hide()
	for _, v := range b.Voices {
		f.Add(v, b.Fall(v))
	}
	return f
}

// items are what is asked once for the machine.
func (f *machineForm) items() []*widget.FormItem {
	return []*widget.FormItem{
		widget.NewFormItem(i18n.L("Notches of the index plate"), f.Notches),
		widget.NewFormItem(i18n.L("Turns of the plate in a beat"), f.turns),
		widget.NewFormItem(i18n.L("Beats in a turn of the wheel"), f.beats),
		widget.NewFormItem(i18n.F("Radius of the pins' circle, %s", f.unit.Name), f.Radius),
		widget.NewFormItem(i18n.L("Tolerance, ms"), f.Tolerance),
		widget.NewFormItem(i18n.L("Reference hits per beat"), f.perBeat),
		widget.NewFormItem(i18n.L("End every move ahead"), f.behind),
		widget.NewFormItem(i18n.L("No sweeps"), f.steady),
	}
}

// content lays the form out: plate and wheel beside the rest of the machine, the voices
// below.
func (f *machineForm) content() fyne.CanvasObject {
	items := f.items()
	add := kit.NewButtonWithIcon(i18n.L("Add voice"), theme.ContentAddIcon(), func() {
		f.Add("", machine.Fall{})
	})
	about := i18n.L("What you leave empty counts as not known. With another plate or tolerance the advice on all takes is worked out again.")
	if f.practice {
		add.Hide()
		about += " " + i18n.L("The simulated machine keeps its voices, and its plate is as you enter it here.")
	}
	bottom := container.NewVBox(container.NewHBox(add), f.Problem)
	if kit.LargeText() {
		f.Scroll = container.NewVScroll(container.NewVBox(kit.NewForm(items...), kit.Wrapped(about), widget.NewSeparator(), f.table, bottom))
		return f.Scroll
	}
	top := container.NewVBox(container.NewGridWithColumns(2, kit.NewForm(items[:4]...), kit.NewForm(items[4:]...)),
		kit.Wrapped(about), widget.NewSeparator(), voiceColumns(f.unit).Head())
	f.Scroll = container.NewVScroll(f.table)
	return container.New(layout.NewBorderLayout(top, bottom, nil, nil), top, f.Scroll, bottom) // Tab goes in this order
}

// say shows what is wrong with what was typed.
func (f *machineForm) say(err error) {
	f.Problem.SetText(kit.AsSentence(err.Error()))
	f.Problem.Show()
}

// read returns the machine as the form has it, the tolerance in ms, and what each
// voice was called before.
func (f *machineForm) read() (b machine.Build, toleranceMS float64, was []string, err error) {
	if err := kit.Wrong(f.items()); err != nil {
		return b, 0, nil, err
	}
	if (kit.ValueOf(f.Notches) == 0) != (kit.ValueOf(f.turns) == 0) {
		return b, 0, nil, i18n.Errorf("the plate needs both its notches and its turns in a beat: leave both empty where one is not known")
	}
	radius, err := f.unit.Length(f.Radius.Text, f.of.Wheel.PinRadiusMM)
	if err != nil {
		return b, 0, nil, err // not after it was found valid
	}
	b = f.of
	b.Plate = calib.Plate{NotchesPerTurn: int(kit.ValueOf(f.Notches)), TurnsPerBeat: kit.ValueOf(f.turns)}
	b.PerBeat = int(kit.ValueOf(f.perBeat))
	if b.PerBeat == 1 {
		b.PerBeat = min(f.of.PerBeat, 1) // 0 says the same
	}
	b.Wheel = machine.Wheel{BeatsPerTurn: kit.ValueOf(f.beats), PinRadiusMM: radius}
	b.Unidirectional, b.Steady, b.Voices, b.Falls = f.behind.Checked, f.steady.Checked, nil, nil
	for _, v := range f.Voices {
		fall, err := v.read()
		if err != nil {
			return b, 0, nil, err
		}
		b.Voices, was = append(b.Voices, fall.Voice), append(was, v.was)
		if fall != (machine.Fall{Voice: fall.Voice}) {
			b.Falls = append(b.Falls, fall)
		}
	}
	return b, kit.ValueOf(f.Tolerance), was, nil
}

// Add adds a voice below the others and begins to name it where it is new.
func (f *machineForm) Add(name string, fall machine.Fall) {
	var r *voiceRow
	row := func() int { return slices.Index(f.Voices, r) }
	r = newVoiceRow(name, fall, f.unit, func() { f.inSight(row()) }, func(column, by int) { f.Step(row()+by, column) }, func() { f.Keep.OnTapped() }, func() { f.remove(row()) })
	if f.practice {
		r.Name.Disable()
	}
	kit.Show(r.Gone, !f.practice)
	f.Voices = append(f.Voices, r)
	f.table.Add(r.Root)
	if name == "" {
		f.Step(row(), 0)
	}
}

func (f *machineForm) remove(row int) {
	f.Voices = slices.Delete(f.Voices, row, row+1)
	f.table.Remove(f.table.Objects[row])
}

// Step puts the keyboard on a column of a voice's row.
func (f *machineForm) Step(row, column int) {
	if row < 0 || row >= len(f.Voices) {
		return
	}
	if c := fyne.CurrentApp().Driver().CanvasForObject(f.table); c != nil {
		c.Focus(f.Voices[row].cells()[column])
	}
}

// inSight scrolls to a voice's row.
func (f *machineForm) inSight(row int) {
	if f.Scroll != nil && row >= 0 {
		kit.Bring(f.table.Objects[row], f.Scroll)
	}
}
