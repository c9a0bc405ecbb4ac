package ui

import (
	"path/filepath"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
)

// typed hears the keys that no part of the window took.
func (w *Window) typed(e *fyne.KeyEvent) {
	switch e.Name {
	case fyne.KeyDown:
		if w.desk.Bench == nil {
			w.welcome.ToList()
		}
	case fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter:
		w.loop.Press()
	case fyne.KeyEscape:
		if !w.desk.Dismiss() {
			w.fromAfar(false)
			w.desk.Notice.Clear()
		}
	case fyne.KeyF11:
		w.fromAfar(!w.zones.far)
	case fyne.KeyF1:
		w.showHandbook()
	}
}

// typedRune hears the letters that no part of the window took.
func (w *Window) typedRune(r rune) {
	switch {
	case w.desk.Bench == nil:
		w.welcome.Typed(r)
	case r == 'b' || r == 'B':
		w.listening.Swap()
	}
}

// dropped opens what was dropped on the window: a folder as a machine, anything
// else as a recording.
func (w *Window) dropped(uris []fyne.URI) {
	if len(uris) == 0 || !w.desk.Free() {
		return
	}
	w.desk.Notice.Clear()
	path := uris[0].Path()
	w.Open(path)
	if len(uris) > 1 {
		w.desk.Notice.Say(i18n.F("Several files were dropped: only %s was looked at, one take at a time.", filepath.Base(path)), false)
	}
}
