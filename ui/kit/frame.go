package kit

import (
	"net/url"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/ui/look"
)

// Frame is a window as those see it who show something in it: it has dialogs of the
// right size, a job at a time, a line that tells what happened, and a keyboard.
type Frame struct {
	Win    fyne.Window
	Jobs   *Jobs
	Notice *Notice

	OpenFile func(*url.URL) error        // has another program open a file or folder
	Later    func(time.Duration, func()) // does something after a while
}

// Free reports whether a command may run now: not while a job runs, and not under a
// dialog, which the menu's shortcuts would reach past.
func (f *Frame) Free() bool { return !f.Jobs.Busy() && f.Win.Canvas().Overlays().Top() == nil }

// Tell shows an error as a sentence; a cancelled job is no news.
func (f *Frame) Tell(err error) { f.Notice.tell(err) }

// Focus puts the keyboard on something.
func (f *Frame) Focus(o fyne.Focusable) { f.Win.Canvas().Focus(o) }

// HandOn gives a shortcut to what has the keyboard: the menu gets it first, also where
// something is being typed.
func (f *Frame) HandOn(shortcut fyne.Shortcut) {
	if typed, ok := f.Win.Canvas().Focused().(fyne.Shortcutable); ok {
		typed.TypedShortcut(shortcut)
	}
}

// Commit keeps what is being typed into a cell.
func (f *Frame) Commit() {
	if c, ok := f.Win.Canvas().Focused().(interface{ Keep() }); ok {
		c.Keep()
	}
}

// Dismiss takes the uppermost dialog away as its own button does, and reports whether
// there was one.
func (f *Frame) Dismiss() bool { return DismissTop(f.Win.Canvas()) }

// Room is the size of a dialog that would be so wide and high at the usual text,
// as far as the window has room.
func (f *Frame) Room(width, height float32) fyne.Size {
	times, has := look.Times(theme.Current()), f.Win.Canvas().Size()
	return fyne.NewSize(min(width*times, has.Width-40), min(height*times, has.Height-40))
}

// Form is a dialog that asks for several things.
type Form struct {
	Title, Confirm string
	Items          []*widget.FormItem
	Wrong          func() error      // what cannot be where each by itself may be; nil = nothing
	Leave          func(away func()) // is called before it goes away with nothing done, which away has it do; nil = it goes
	Done           func()            // is called once all of it is valid and confirmed
}

// Form shows a form as wide as its hints need; where the window is too low for all of it, it
// scrolls. done is called once all of it is valid and confirmed.
func (f *Frame) Form(title, confirm string, items []*widget.FormItem, done func()) {
	f.ShowForm(Form{Title: title, Confirm: confirm, Items: items, Done: done})
}

// NewForm lays items out with their names beside their fields, or above them where text is
// large.
func NewForm(items ...*widget.FormItem) *widget.Form {
	form := &widget.Form{Items: items}
	if LargeText() {
		form.Orientation = widget.Vertical
	}
	return form
}

// Wrong is the first of some fields that is not valid, by its name, and why.
func Wrong(items []*widget.FormItem) error {
	for _, i := range items {
		if e, ok := i.Widget.(*Field); ok && e.Validator != nil {
			if err := e.Validator(e.Text); err != nil {
				return i18n.Errorf("%s: %s", i.Text, err)
			}
		}
	}
	return nil
}

// whyHigh is the room for what is wrong, at the usual text: nothing jumps when it comes.
const whyHigh = 56

// ShowForm shows a form, and returns the button that confirms it.
func (f *Frame) ShowForm(form Form) (keep *Button) {
	scroll := container.NewScroll(NewForm(form.Items...))
	var d *Dialog
	keep = NewButtonWithIcon(form.Confirm, theme.ConfirmIcon(), func() { d.Hide(); form.Done() }).Bright()
	cancel := NewButtonWithIcon(i18n.L("Cancel"), theme.CancelIcon(), nil)
	if form.Leave != nil {
		cancel.OnTapped = func() { form.Leave(d.Hide) }
	}
	why := Wrapped("")                    // beside the button: the field may be scrolled out of sight
	why.Importance = widget.LowImportance // nothing is wrong before something is typed
	check := func() {                     // the toolkit's form tells of one field at a time
		err := Wrong(form.Items)
		if err == nil && form.Wrong != nil {
			err = form.Wrong()
		}
		if Enable(keep, err == nil); err != nil {
			why.SetText(AsSentence(err.Error()))
		} else {
			why.SetText("")
		}
	}
	changed := func(string) {
		why.Importance = widget.DangerImportance
		check()
	}
	for _, i := range form.Items {
		switch e := i.Widget.(type) {
		case *Field:
			e.OnChanged = changed
			e.OnSubmitted = func(string) {
				if !keep.Disabled() {
					keep.OnTapped()
				}
			}
		case *Choice:
			if form.Wrong != nil {
				e.OnChanged = changed
			}
		}
	}
	check()
	lines := whyHigh * look.Times(theme.Current())
	d = f.Dialog(form.Title, container.NewBorder(nil, container.NewStack(Gap(lines), why), nil, nil, scroll), 620, 0, cancel, keep)
	return keep
}

// Dialog shows something in a dialog so wide and high at the usual text, as far as the
// window has room; at no height, as high as all that scrolls in it. The first button takes
// it away and changes nothing: one that does nothing yet does that.
func (f *Frame) Dialog(title string, content fyne.CanvasObject, wide, high float32, away *Button, others ...*Button) *Dialog {
	d := &Dialog{CustomDialog: dialog.NewCustomWithoutButtons(title, content, f.Win), content: content, away: away}
	if away.OnTapped == nil {
		away.OnTapped = d.Hide
	}
	buttons := []fyne.CanvasObject{away}
	for _, b := range others {
		buttons = append(buttons, b)
	}
	row := container.NewGridWithRows(1, buttons...)
	if row.MinSize().Width > f.Room(1e6, 0).Width { // as at large text
		row = container.NewVBox(buttons...)
	}
	d.SetButtons([]fyne.CanvasObject{row})
	if scrolls := ScrollsIn(content); high == 0 && len(scrolls) > 0 {
		f.Fit(d, scrolls[0], wide)
	} else {
		d.Resize(f.Room(wide, high))
	}
	d.Show()
	over := f.Win.Canvas().Overlays().Top()
	shown[over] = d
	d.SetOnClosed(func() { delete(shown, over) })
	return d
}

// Closable shows a dialog that only shows something, with a button that takes it away, which
// has the keyboard.
func (f *Frame) Closable(title string, content fyne.CanvasObject, wide, high float32) *Dialog {
	away := NewButton(i18n.L("Close"), nil)
	defer f.Focus(away)
	return f.Dialog(title, content, wide, high, away)
}

// Answer is one of a question, and what is done then; nil = nothing.
type Answer struct {
	Words string
	Do    func()
}

// Ask asks a question. The escape key gives its first answer; one of them is bright and
// has the keyboard: the one that leaves all as it is where another loses something.
func (f *Frame) Ask(title, words string, bright int, answers ...Answer) {
	var d *Dialog
	var buttons []*Button
	for _, a := range answers {
		buttons = append(buttons, NewButton(a.Words, func() {
			if d.Hide(); a.Do != nil {
				a.Do()
			}
		}))
	}
	buttons[bright].Importance = widget.HighImportance
	d = f.Dialog(title, container.NewVScroll(Wrapped(words)), 560, 0, buttons[0], buttons[1:]...)
	f.Focus(buttons[bright])
}

// Fit makes a dialog large enough for all that scrolls in it, and so wide at
// least at the usual text, as far as the window has room.
func (f *Frame) Fit(d dialog.Dialog, scroll *container.Scroll, least float32) {
	const beside = 32 // left and right of what the toolkit's dialogs show
	around := fyne.NewSize(beside, d.MinSize().Height-scroll.MinSize().Height).AddWidthHeight(2*theme.Padding(), 2*theme.Padding())
	has := f.Win.Canvas().Size().SubtractWidthHeight(20, 20)
	wide := min(max(f.Room(least, 0).Width, d.MinSize().Width, scroll.Content.MinSize().Width+around.Width), has.Width)
	scroll.Content.Resize(fyne.NewSize(wide-around.Width, 1)) // lines break at the width there is
	high := scroll.Content.MinSize().Height + around.Height
	d.Resize(fyne.NewSize(wide, min(high, has.Height)))
}

// AskWords asks for words of several lines.
func (f *Frame) AskWords(title, words string, keep func(string)) {
	e := NewField(words)
	e.MultiLine, e.Wrapping = true, fyne.TextWrapWord
	e.SetMinRowsVisible(8)
	items := []*widget.FormItem{Item(i18n.L("Notes"), i18n.L("in your own words; Ctrl+Enter keeps them"), e)}
	f.ShowForm(Form{Title: title, Confirm: i18n.L("Keep"), Items: items, Done: func() { keep(e.Text) }, Leave: func(away func()) {
		if e.Text == words {
			away()
			return
		}
		f.Ask(i18n.L("Discard the notes?"), i18n.L("What was typed here is not kept yet."), 0, Answer{i18n.L("Cancel"), nil}, Answer{i18n.L("Discard"), away})
	}})
	f.Focus(e)
}
