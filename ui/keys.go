package ui

import (
	"path/filepath"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
)

// typed hears the keys that no part of the window took.
func (w *Window) typed(e *fyne.KeyEvent) {
	switch e.Name {
	case fyne.KeyDown, fyne.KeyUp:
		switch {
		case w.songs.InSight:
			w.songs.Step(map[fyne.KeyName]int{fyne.KeyUp: -1, fyne.KeyDown: 1}[e.Name])
		case w.desk.Bench == nil && e.Name == fyne.KeyDown:
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
		w.fromAfar(!w.loop.Far.InSight)
	case fyne.KeyF1:
		w.showHandbook("")
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
