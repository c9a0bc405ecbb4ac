package ui

import (
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// machineForm asks how the machine is built. What is left empty is not known.
type machineForm struct {
	name, tolerance, perBeat *field
	notches, turns           *field
	beats, radius            *field // of the wheel
	behind                   *tick
	voices                   []*voiceRow
	table                    *fyne.Container
	scroll                   *container.Scroll
	problem                  *widget.Label
	keep                     *button
	of                       session.Machine // before anything was typed
	unit                     unit
	practice                 bool // its voices are the simulated ones
}

// askMachine asks how the machine is built.
func (w *Window) askMachine() {
	if f := w.showMachine(); f != nil {
		w.win.Canvas().Focus(f.name)
	}
}

// askPlate does the same and begins with the plate.
func (w *Window) askPlate() {
	if f := w.showMachine(); f != nil {
		w.win.Canvas().Focus(f.notches)
	}
}

func (w *Window) showMachine() *machineForm {
	if !w.mayChange() {
		return nil
	}
	w.songs.commit()
	s := w.session()
	f := newMachineForm(s, w.unit())
	d := dialog.NewCustomWithoutButtons(i18n.L("The machine"), f.content(), w.win)
	f.keep = newButtonWithIcon(i18n.L("Keep"), theme.ConfirmIcon(), func() { w.keepMachine(f, d) })
	f.keep.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{newButtonWithIcon(i18n.L("Cancel"), theme.CancelIcon(), d.Hide), f.keep})
	d.Resize(w.room(900, 640))
	d.Show()
	return f
}

// keepMachine keeps what the form says and takes it away; where that cannot be, the
// form says so.
func (w *Window) keepMachine(f *machineForm, d dialog.Dialog) {
	m, tolerance, was, err := f.read()
	if err != nil {
		f.say(err)
		return
	}
	if err := w.bench.EditMachine(m, tolerance, was); err != nil {
		f.say(err)
		return
	}
	d.Hide()
	w.changed(undoable(i18n.L("The machine is kept as you say.")), nil)
}

func newMachineForm(s session.Session, u unit) *machineForm {
	m := s.Machine
	f := &machineForm{
		name:      text(m.Name),
		tolerance: number(figure(s.ToleranceMS), 0.5, 100, false),
		perBeat:   count(1, 24, false),
		notches:   count(1, 9999, true),
		turns:     number(figure(m.Plate.TurnsPerBeat), 0.0001, 1000, true),
		beats:     number(figure(m.Wheel.BeatsPerTurn), 0.0001, session.MostBeatsPerTurn, true),
		radius:    number(u.figure(m.Wheel.PinRadiusMM), 0.1/u.mm, session.MostPinRadiusMM/u.mm, true),
		behind:    newTick(i18n.L("remind me"), nil),
		table:     container.NewVBox(), problem: wrapped(""), of: m, unit: u, practice: m.PracticeSeed != 0,
	}
	f.perBeat.SetText(strconv.Itoa(max(m.PerBeat, 1)))
	f.notches.SetText(figure(float64(m.Plate.NotchesPerTurn)))
	for _, e := range []*field{f.notches, f.turns, f.beats, f.radius} {
		e.SetPlaceHolder(i18n.L("not known"))
	}
	for _, e := range []*field{f.name, f.tolerance, f.perBeat, f.notches, f.turns, f.beats, f.radius} {
		e.OnSubmitted = func(string) { f.keep.OnTapped() }
	}
	f.behind.SetChecked(m.Unidirectional)
	f.problem.Importance = widget.DangerImportance
	f.problem.Hide()
	for _, v := range m.Voices {
		f.add(v, m.Fall(v))
	}
	return f
}

// figure writes a number to be typed over; nothing for 0, which is not known.
func figure(v float64) string {
	if v == 0 {
		return ""
	}
	return i18n.Decimal(strconv.FormatFloat(v, 'g', -1, 64))
}

// content lays the form out: the machine and the plate side by side, the voices
// below.
func (f *machineForm) content() fyne.CanvasObject {
	left := widget.NewForm(
		widget.NewFormItem(i18n.L("Machine"), f.name),
		widget.NewFormItem(i18n.L("Tolerance, ms"), f.tolerance),
		widget.NewFormItem(i18n.L("Reference hits in a beat"), f.perBeat),
		widget.NewFormItem(i18n.L("End every move ahead"), f.behind),
	)
	right := widget.NewForm(
		widget.NewFormItem(i18n.L("Notches of the plate"), f.notches),
		widget.NewFormItem(i18n.L("Turns of the plate in a beat"), f.turns),
		widget.NewFormItem(i18n.L("Beats in a turn of the wheel"), f.beats),
		widget.NewFormItem(i18n.F("Radius of the pins' circle, %s", f.unit.name), f.radius),
	)
	add := newButtonWithIcon(i18n.L("Add voice"), theme.ContentAddIcon(), func() {
		f.add("", session.Fall{})
	})
	about := i18n.L("What you leave empty is not known. Another plate or tolerance gives all takes their advice anew.")
	if f.practice {
		add.Hide()
		about += " " + i18n.L("The simulated machine keeps its voices, and turns as its plate says.")
	}
	top := container.NewVBox(container.New(twoColumns{}, left, right), wrapped(about), widget.NewSeparator(), voiceColumns(f.unit).head())
	bottom := container.NewVBox(container.NewHBox(add), f.problem)
	if largeText() {
		f.scroll = container.NewScroll(container.NewVBox(top, f.table, bottom))
		return f.scroll
	}
	f.scroll = container.NewVScroll(f.table)
	return container.New(layout.NewBorderLayout(top, bottom, nil, nil), top, f.scroll, bottom) // Tab goes in this order
}

// twoColumns lays two forms side by side, or below each other where text is large.
type twoColumns struct{}

func (twoColumns) columns() fyne.Layout {
	if largeText() {
		return layout.NewVBoxLayout()
	}
	return layout.NewGridLayoutWithColumns(2)
}

func (c twoColumns) Layout(o []fyne.CanvasObject, size fyne.Size) { c.columns().Layout(o, size) }

func (c twoColumns) MinSize(o []fyne.CanvasObject) fyne.Size { return c.columns().MinSize(o) }

// say shows what is wrong with what was typed.
func (f *machineForm) say(err error) {
	f.problem.SetText(asSentence(err.Error()))
	f.problem.Show()
}

// read returns the machine as the form has it, the tolerance in ms, and what each
// voice was called before.
func (f *machineForm) read() (m session.Machine, toleranceMS float64, was []string, err error) {
	for _, e := range []struct {
		what  string
		entry *field
	}{
		{i18n.L("the machine"), f.name}, {i18n.L("the tolerance"), f.tolerance}, {i18n.L("the reference hits in a beat"), f.perBeat},
		{i18n.L("the notches of the plate"), f.notches}, {i18n.L("the turns of the plate in a beat"), f.turns},
		{i18n.L("the beats in a turn of the wheel"), f.beats}, {i18n.L("the radius of the pins' circle"), f.radius},
	} {
		if err := e.entry.Validate(); err != nil {
			return m, 0, nil, i18n.Errorf("%s: %q will not do, it must be %w", e.what, e.entry.Text, err)
		}
	}
	if (value(f.notches) == 0) != (value(f.turns) == 0) {
		return m, 0, nil, i18n.Errorf("the plate needs both its notches and its turns in a beat: leave both empty where one is not known")
	}
	radius, err := f.unit.length(f.radius.Text, f.of.Wheel.PinRadiusMM)
	if err != nil {
		return m, 0, nil, err // not after it was found valid
	}
	m = f.of
	m.Name = strings.TrimSpace(f.name.Text)
	m.Plate = calib.Plate{NotchesPerTurn: int(value(f.notches)), TurnsPerBeat: value(f.turns)}
	m.PerBeat = int(value(f.perBeat))
	if m.PerBeat == 1 {
		m.PerBeat = min(f.of.PerBeat, 1) // 0 says the same
	}
	m.Wheel = session.Wheel{BeatsPerTurn: value(f.beats), PinRadiusMM: radius}
	m.Unidirectional, m.Voices, m.Falls = f.behind.Checked, nil, nil
	for _, v := range f.voices {
		fall, err := v.read()
		if err != nil {
			return m, 0, nil, err
		}
		m.Voices, was = append(m.Voices, fall.Voice), append(was, v.was)
		if fall != (session.Fall{Voice: fall.Voice}) {
			m.Falls = append(m.Falls, fall)
		}
	}
	return m, value(f.tolerance), was, nil
}

// add adds a voice below the others and begins to name it where it is new.
func (f *machineForm) add(name string, fall session.Fall) {
	r := newVoiceRow(name, fall, f.unit)
	row := func() int { return slices.Index(f.voices, r) }
	r.place(func() { f.inSight(row()) }, func(column, by int) { f.step(row()+by, column) }, func() { f.keep.OnTapped() }, func() { f.remove(row()) })
	r.name.Disable()
	if !f.practice {
		r.name.Enable()
	}
	show(r.gone, !f.practice)
	f.voices = append(f.voices, r)
	f.table.Add(r.root)
	if name == "" {
		f.step(row(), 0)
	}
}

func (f *machineForm) remove(row int) {
	f.voices = slices.Delete(f.voices, row, row+1)
	f.table.Remove(f.table.Objects[row])
}

// step puts the keyboard on a column of a voice's row.
func (f *machineForm) step(row, column int) {
	if row < 0 || row >= len(f.voices) {
		return
	}
	if c := fyne.CurrentApp().Driver().CanvasForObject(f.table); c != nil {
		c.Focus(f.voices[row].cells()[column])
	}
}

// inSight scrolls to a voice's row.
func (f *machineForm) inSight(row int) {
	if f.scroll == nil || row < 0 {
		return
	}
	at, high := f.table.Objects[row].Position().Y, f.table.Objects[row].Size().Height
	if f.scroll.Content != f.table {
		at += f.table.Position().Y // with large text all of the form scrolls
	}
	switch y := f.scroll.Offset.Y; {
	case at < y:
		f.scroll.ScrollToOffset(fyne.NewPos(0, at))
	case at+high > y+f.scroll.Size().Height:
		f.scroll.ScrollToOffset(fyne.NewPos(0, at+high-f.scroll.Size().Height))
	}
}
