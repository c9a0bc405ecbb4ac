package ui

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/ui/help"
	"lagwright/ui/kit"
)

// menu makes the main menu as the window stands; every command is in it, so that
// everything can be done from the keyboard. Each room has its own.
func (w *Window) menu() *fyne.MainMenu {
	d := w.desk
	open, idle := d.Bench != nil, !d.Jobs.Busy() && !d.Playing
	ready := open && idle
	_, taken := w.take.InSight()
	quit := kit.Entry(i18n.L("Quit"), kit.Ctrl(fyne.KeyQ), true, func() {
		if !w.takePlayed() {
			w.quit()
		}
	})
	quit.IsQuit = true // the toolkit would add another
	ofTake := w.take.Commands(ready)
	for _, entry := range ofTake { // from the set list too, where nobody sees which take it is
		do := entry.Action
		entry.Action = func() { w.toTakes(); do() }
	}
	menu := func(label string, entries ...[]*fyne.MenuItem) *fyne.Menu {
		return fyne.NewMenu(label, slices.Concat(entries...)...)
	}
	return fyne.NewMainMenu(
		menu(i18n.L("Machine"),
			w.welcome.Commands(idle),
			[]*fyne.MenuItem{kit.Entry(i18n.L("Close"), kit.Ctrl(fyne.KeyW), ready || !open || d.Playing, w.closeTop)},
			kit.Apart(
				kit.Entry(i18n.L("Plate, voices and build…"), kit.Ctrl(fyne.KeyM), ready, w.setup.AskMachine),
				kit.Entry(i18n.L("The machine's log…"), kit.CtrlShift(fyne.KeyH), ready, w.setup.AskLog),
				kit.Entry(i18n.L("Suspected mistakes…"), kit.Ctrl(fyne.KeyF), ready && len(d.View().Findings)+len(d.View().Answered) > 0, w.loop.Found.List),
			),
			w.export.OfMachine(ready),
			kit.Apart(kit.Entry(i18n.L("Preferences…"), kit.Ctrl(fyne.KeyComma), idle, w.askPreferences), quit),
		),
		menu(i18n.L("Record"),
			w.record.Commands(ready),
			kit.Apart(
				kit.Entry(i18n.L("Microphones…"), kit.CtrlShift(fyne.KeyM), ready && d.Machine().Build.PracticeSeed == 0, w.setup.AskMicrophones),
				kit.Entry(i18n.L("Tones and guide click…"), kit.CtrlShift(fyne.KeyT), !open || ready, w.listening.AskTones),
			),
			kit.Apart(kit.Entry(i18n.L("Cancel"), kit.Ctrl(fyne.KeyPeriod), d.Jobs.Busy(), d.Jobs.Stop)),
		),
		menu(i18n.L("Take"), ofTake, w.listening.Commands(ready && taken), w.take.OfVoices(ready), w.export.OfTake(ready && taken)),
		menu(i18n.L("Change"), w.undoCommands(ready), w.take.OfHits(ready)),
		menu(i18n.L("Plate"), w.loop.Commands(ready)),
		menu(i18n.L("Set list"), []*fyne.MenuItem{kit.Entry(i18n.Either(w.songs.InSight, "Back to the takes", "Show the set list"), kit.Ctrl(fyne.KeyL), ready, w.listSongs)}, w.songs.Commands(ready)),
		menu(i18n.L("View"),
			w.take.OfTrace(open),
			kit.Apart(kit.Entry(i18n.L("Large view"), kit.Ctrl(fyne.KeyF11), open, func() { w.fromAfar(!w.loop.Far.InSight) })),
			kit.Apart(
				kit.Entry(i18n.Either(w.history.OtherList(!w.songs.InSight) == 1, "Show the list of takes", "Show the plate settings"), kit.CtrlShift(fyne.KeyK), ready, w.listOther),
				kit.Entry(i18n.L("Scroll down"), kit.Ctrl(fyne.KeyPageDown), true, func() { w.scrollBy(1) }),
				kit.Entry(i18n.L("Scroll up"), kit.Ctrl(fyne.KeyPageUp), true, func() { w.scrollBy(-1) }),
			),
		),
		menu(i18n.L("Help"), []*fyne.MenuItem{
			kit.Entry(i18n.L("Handbook"), kit.Ctrl(fyne.KeyF1), true, func() { w.showHandbook("") }),
			kit.Entry(i18n.L("Show the hints again"), nil, !d.Prefs.Hints(), func() { w.loop.SetHints(true) }),
			kit.Entry(i18n.L("Copy a diagnostic report"), nil, idle && w.logs.Log != nil, w.logs.CopyDiagnosis),
		}),
	)
}

// showHandbook shows the handbook at a page by its name, or at the first, with the key of
// every command.
func (w *Window) showHandbook(page string) *help.Reader {
	var keys strings.Builder
	for _, m := range w.menu().Items {
		fmt.Fprintf(&keys, "## %s\n\n", m.Label)
		for items := m.Items; len(items) > 0; items = items[1:] {
			if s, ok := items[0].Shortcut.(fyne.KeyboardShortcut); ok {
				fmt.Fprintf(&keys, "- **%s**  %s\n", kit.KeyWords(s), items[0].Label)
			}
			if below := items[0].ChildMenu; below != nil {
				items = slices.Concat(items, below.Items)
			}
		}
		keys.WriteString("\n")
	}
	return help.Show(w.desk, keys.String(), page)
}

// undoCommands take changes back.
func (w *Window) undoCommands(ready bool) []*fyne.MenuItem {
	var undo, redo string
	if w.desk.Bench != nil {
		undo, redo = w.desk.Bench.Undoable()
	}
	return []*fyne.MenuItem{
		kit.Entry(aboutWhat(i18n.L("Undo"), undo), &fyne.ShortcutUndo{}, ready && undo != "", w.undo),
		kit.Entry(aboutWhat(i18n.L("Redo"), redo), kit.CtrlShift(fyne.KeyZ), ready && redo != "", w.redo),
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
// nobody would see what was done, and the last take where there is another one now.
func (w *Window) takeBack(do func(*bench.Bench) (string, error), shortcut fyne.Shortcut, said func(what string) string) {
	before := w.desk.Machine()
	w.desk.TakeBack(do, shortcut, said)
	now := w.desk.Machine()
	if !w.songs.InSight && !reflect.DeepEqual(before.SetList(), now.SetList()) {
		w.listSongs()
	}
	if len(before.Takes) != len(now.Takes) {
		w.record.ShowLast()
	}
}

// aboutWhat is a command with what it is about, told in a few words.
func aboutWhat(command, what string) string {
	if what == "" {
		return command
	}
	return i18n.F("%s: %s", command, kit.InFont(what))
}
