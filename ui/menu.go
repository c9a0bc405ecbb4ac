package ui

import (
	"reflect"
	"slices"

	"fyne.io/fyne/v2"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
)

// menu makes the main menu as the window stands; every command is in it, so that
// everything can be done from the keyboard. Each room has its own.
func (w *Window) menu() *fyne.MainMenu {
	d := w.desk
	open, idle := d.Bench != nil, !d.Jobs.busy() && !d.Playing
	ready := open && idle
	_, taken := w.take.inSight()
	menu := func(label string, entries ...[]*fyne.MenuItem) *fyne.Menu {
		return fyne.NewMenu(label, slices.Concat(entries...)...)
	}
	return fyne.NewMainMenu(
		menu(i18n.L("Session"),
			w.welcome.commands(idle),
			[]*fyne.MenuItem{Entry(i18n.L("Close"), Ctrl(fyne.KeyW), ready || !open, w.closeTop)},
			Apart(
				Entry(i18n.L("The machine…"), Ctrl(fyne.KeyM), ready, w.setup.askMachine),
				Entry(i18n.L("What the takes show…"), Ctrl(fyne.KeyF), ready && len(d.View().Findings) > 0, w.loop.found.list),
			),
			w.export.ofSession(ready),
			Apart(Entry(i18n.L("Preferences…"), Ctrl(fyne.KeyComma), idle, w.askPreferences)),
		),
		menu(i18n.L("Record"),
			w.record.commands(ready),
			Apart(
				Entry(i18n.L("Microphones…"), CtrlShift(fyne.KeyM), ready && d.Session().Machine.PracticeSeed == 0, w.setup.askMicrophones),
				Entry(i18n.L("Tones and guide click…"), CtrlShift(fyne.KeyT), !open || ready, w.listening.askTones),
			),
			Apart(Entry(i18n.L("Cancel"), Ctrl(fyne.KeyPeriod), d.Jobs.busy(), d.Jobs.stop)),
		),
		menu(i18n.L("Take"), w.take.commands(ready), w.listening.commands(ready && taken), w.take.ofVoices(ready), w.export.ofTake(ready && taken)),
		menu(i18n.L("Change"), w.undoCommands(ready), w.take.ofHits(ready)),
		menu(i18n.L("Plate"), w.loop.commands(ready)),
		menu(i18n.L("Set list"), []*fyne.MenuItem{Entry(w.listSongsWords(), Ctrl(fyne.KeyL), ready, w.listSongs)}, w.songs.commands(ready)),
		menu(i18n.L("View"),
			w.take.ofTrace(open),
			Apart(
				Entry(w.history.otherWords(!w.songs.inSight), CtrlShift(fyne.KeyK), ready, w.listOther),
				Entry(i18n.L("Further down"), Ctrl(fyne.KeyPageDown), true, func() { w.scrollBy(1) }),
				Entry(i18n.L("Further up"), Ctrl(fyne.KeyPageUp), true, func() { w.scrollBy(-1) }),
			),
			Apart(d.Prefs.ThemeMenu(w.relook), d.Prefs.TextMenu(w.relook)),
		),
		menu(i18n.L("Help"), []*fyne.MenuItem{
			Entry(i18n.L("How it works"), Ctrl(fyne.KeyF1), true, func() { showHelp(d) }),
			Entry(i18n.L("Show the hints again"), nil, !d.Prefs.Hints(), func() { w.loop.setHints(true) }),
			Entry(i18n.L("Copy a diagnostic report"), nil, idle && w.logs.log != nil, w.logs.copyDiagnosis),
		}),
	)
}

// undoCommands take changes back.
func (w *Window) undoCommands(ready bool) []*fyne.MenuItem {
	var undo, redo string
	if w.desk.Bench != nil {
		undo, redo = w.desk.Bench.Undoable()
	}
	return []*fyne.MenuItem{
		Entry(undoWords(undo), &fyne.ShortcutUndo{}, ready && undo != "", w.undo),
		Entry(redoWords(redo), CtrlShift(fyne.KeyZ), ready && redo != "", w.redo),
	}
}

// undo takes the last change back and says which.
func (w *Window) undo() {
	w.takeBack((*bench.Bench).Undo, &fyne.ShortcutUndo{}, func(what string) string { return i18n.F("Undone: %s.", what) })
}

// redo makes it again.
func (w *Window) redo() {
	w.takeBack((*bench.Bench).Redo, &fyne.ShortcutRedo{}, func(what string) string { return i18n.F("Redone: %s.", what) })
}

// takeBack does what undo or redo can, and shows the set list where that has changed, or
// nobody would see what was done.
func (w *Window) takeBack(do func(*bench.Bench) (string, error), shortcut fyne.Shortcut, said func(what string) string) {
	before := w.desk.Session().Songs
	if w.desk.TakeBack(do, shortcut, said); !w.songs.inSight && !reflect.DeepEqual(before, w.desk.Session().Songs) {
		w.listSongs()
	}
}

// undoWords names the command that takes back a change, which is told in a few words.
func undoWords(what string) string {
	if what == "" {
		return i18n.L("Undo")
	}
	return i18n.F("Undo: %s", inFont(what))
}

// redoWords names the one that makes it again.
func redoWords(what string) string {
	if what == "" {
		return i18n.L("Redo")
	}
	return i18n.F("Redo: %s", inFont(what))
}
