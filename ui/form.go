package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// form shows a form dialog as wide as its hints need; where the window is too low
// for all of it, it scrolls. done is called once all of it is valid and confirmed.
func (w *Window) form(title, confirm string, items []*widget.FormItem, done func()) {
	f := widget.NewForm(items...)
	scroll := container.NewScroll(f)
	d := dialog.NewCustomWithoutButtons(title, scroll, w.win)
	keep := newButton(confirm, func() { d.Hide(); done() })
	keep.Icon, keep.Importance = theme.ConfirmIcon(), widget.HighImportance
	cancel := newButton("Cancel", d.Hide)
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
	around := d.MinSize().Height - scroll.MinSize().Height
	size := w.room(620, 0)
	size.Height = min(f.MinSize().Height+around+theme.Padding(), w.win.Canvas().Size().Height-20)
	d.Resize(size)
	d.Show()
}
