package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// form shows a form dialog as wide as its hints need; where the window is too low
// for all of it, it scrolls. done is called once all of it is valid and confirmed.
func (w *Window) form(title, confirm string, items []*widget.FormItem, done func()) {
	w.formThatAsks(title, confirm, items, func(away func()) { away() }, done)
}

// formThatAsks is a form that calls leave before it goes away with nothing done; away
// takes it away.
func (w *Window) formThatAsks(title, confirm string, items []*widget.FormItem, leave func(away func()), done func()) {
	f := widget.NewForm(items...)
	scroll := container.NewScroll(f)
	d := dialog.NewCustomWithoutButtons(title, scroll, w.win)
	keep := newButton(confirm, func() { d.Hide(); done() })
	keep.Icon, keep.Importance = theme.ConfirmIcon(), widget.HighImportance
	cancel := newButton(i18n.L("Cancel"), func() { leave(d.Hide) })
	cancel.Icon = theme.CancelIcon()
	valid := func(err error) {
		if err == nil {
			keep.Enable()
		} else {
			keep.Disable()
		}
	}
	valid(f.Validate())
	f.SetOnValidationChanged(valid)
	for _, i := range items {
		if e, ok := i.Widget.(*field); ok {
			e.OnSubmitted = func(string) {
				if !keep.Disabled() {
					keep.OnTapped()
				}
			}
		}
	}
	d.SetButtons([]fyne.CanvasObject{cancel, keep})
	w.resize(d, scroll, 620)
	d.Show()
}

// closable returns a dialog that only shows something, with the button that takes it
// away.
func (w *Window) closable(title string, content fyne.CanvasObject) *dialog.CustomDialog {
	d := dialog.NewCustomWithoutButtons(title, content, w.win)
	d.SetButtons([]fyne.CanvasObject{newButton(i18n.L("Close"), d.Hide)})
	return d
}

// confirm asks before something is done.
func (w *Window) confirm(title, words, yes, no string, do, dont func()) {
	said := widget.NewLabel(words)
	said.Wrapping = fyne.TextWrapWord
	scroll := container.NewVScroll(said)
	d := dialog.NewCustomWithoutButtons(title, scroll, w.win)
	away := newButton(no, func() { d.Hide(); dont() })
	ok := newButton(yes, func() { d.Hide(); do() })
	ok.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{away, ok})
	w.resize(d, scroll, 460)
	d.Show()
}

// resize makes a dialog large enough for all that scrolls in it, and so wide at
// least at the usual text, as far as the window has room.
func (w *Window) resize(d dialog.Dialog, scroll *container.Scroll, least float32) {
	around := d.MinSize().Subtract(scroll.MinSize()).AddWidthHeight(2*theme.Padding(), 2*theme.Padding())
	has := w.win.Canvas().Size().SubtractWidthHeight(20, 20)
	wide := min(max(w.room(least, 0).Width, scroll.Content.MinSize().Width+around.Width), has.Width)
	scroll.Content.Resize(fyne.NewSize(wide-around.Width, 1)) // lines break at the width there is
	high := scroll.Content.MinSize().Height + around.Height
	d.Resize(fyne.NewSize(wide, min(high, has.Height)))
}
