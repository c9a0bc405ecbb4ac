package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
)

// menu makes the main menu as the window stands; every command is in it, so
// that everything can be done from the keyboard.
func (w *Window) menu() *fyne.MainMenu {
	open, idle := w.bench != nil, !w.jobs.busy() && w.live == nil
	ready := open && idle
	moving, found := false, false
	practice, taken := false, false
	if open {
		v := w.view()
		s := v.Session
		moving, found = v.Stage == loop.AwaitMove, len(v.Findings) > 0
		practice, taken = s.Machine.PracticeSeed != 0, len(s.Takes) > 0
	}
	return fyne.NewMainMenu(
		fyne.NewMenu(i18n.L("Session"),
			entry(i18n.L("New…"), ctrl(fyne.KeyN), idle, w.askSession),
			entry(i18n.L("Simulated machine"), ctrlShift(fyne.KeyN), idle, w.Practice),
			entry(i18n.L("Open…"), ctrlShift(fyne.KeyO), idle, w.chooseSession),
			entry(i18n.L("Import a zip…"), nil, idle, w.chooseZip),
			w.thisSession(ready),
			entry(i18n.L("Close"), ctrl(fyne.KeyW), ready || w.bench == nil, w.closeTop),
			fyne.NewMenuItemSeparator(),
			entry(i18n.L("The machine…"), ctrl(fyne.KeyM), ready, w.askMachine),
			entry(i18n.L("What the takes show…"), ctrl(fyne.KeyF), ready && found, w.listFound),
			fyne.NewMenuItemSeparator(),
			entry(i18n.L("Save the curve…"), ctrl(fyne.KeyE), ready, w.saveCurve),
			entry(i18n.L("Save the card…"), ctrlShift(fyne.KeyE), ready, w.saveCard),
			entry(i18n.L("Save all readings…"), nil, ready && taken, w.saveReadings),
			w.copyOfSession(ready, taken),
			w.paperMenu(),
			fyne.NewMenuItemSeparator(),
			entry(i18n.L("Preferences…"), ctrl(fyne.KeyComma), idle, w.askPreferences),
		),
		w.recordMenu(ready, practice),
		w.takeMenu(ready),
		w.changeMenu(ready),
		fyne.NewMenu(i18n.L("Plate"),
			entry(w.turnedWords(), ctrl(fyne.KeyReturn), ready && moving, w.turnedOrCareful),
			entry(i18n.L("Turned otherwise…"), ctrlShift(fyne.KeyReturn), ready && taken && w.cautioned, w.askMove),
			entry(i18n.L("Next tempo…"), ctrl(fyne.KeyT), ready, w.askTarget),
		),
		w.songsMenu(ready),
		fyne.NewMenu(i18n.L("View"),
			entry(i18n.L("Whole take"), ctrl(fyne.Key0), open, w.take.trace.ShowAll),
			entry(i18n.L("Zoom in"), ctrl(fyne.KeyUp), open, w.take.trace.ZoomIn),
			entry(i18n.L("Zoom out"), ctrl(fyne.KeyDown), open, w.take.trace.ZoomOut),
			entry(i18n.L("Next pair"), ctrl(fyne.KeyRight), open, w.take.trace.NextPair),
			entry(i18n.L("Previous pair"), ctrl(fyne.KeyLeft), open, w.take.trace.PrevPair),
			fyne.NewMenuItemSeparator(),
			entry(w.listRecordWords(), ctrlShift(fyne.KeyK), ready, w.listRecord),
			entry(i18n.L("Further down"), ctrl(fyne.KeyPageDown), true, func() { w.scrollBy(1) }),
			entry(i18n.L("Further up"), ctrl(fyne.KeyPageUp), true, func() { w.scrollBy(-1) }),
			fyne.NewMenuItemSeparator(),
			w.themeMenu(),
			w.textMenu(),
		),
		fyne.NewMenu(i18n.L("Help"),
			entry(i18n.L("How it works"), ctrl(fyne.KeyF1), true, w.explain),
			entry(i18n.L("Show the hints again"), nil, !w.hints(), func() { w.setHints(true) }),
			entry(i18n.L("Copy a diagnostic report"), nil, idle && w.log != nil, w.copyDiagnosis),
		),
	)
}

// recordMenu has the commands by which takes come.
func (w *Window) recordMenu(ready, practice bool) *fyne.Menu {
	all := entry(i18n.L("Microphones on all voices"), nil, ready && practice && len(w.session().Machine.Voices) > 1, func() { w.playAll(!w.all) })
	all.Checked = w.all
	return fyne.NewMenu(i18n.L("Record"),
		entry(i18n.L("Play a take"), ctrl(fyne.KeyP), ready && practice, w.playTake),
		all,
		entry(w.recordWords(practice), ctrl(fyne.KeyR), ready, w.recordTake),
		entry(i18n.L("Stop"), ctrlShift(fyne.KeyR), w.live != nil, w.press),
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Open a recording…"), ctrl(fyne.KeyO), ready, w.chooseRecording),
		entry(i18n.L("Open a recording, choose channels…"), nil, ready, w.chooseChannels),
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Microphones…"), ctrlShift(fyne.KeyM), ready && !practice, w.askMicrophones),
		entry(i18n.L("Tones and guide click…"), ctrlShift(fyne.KeyT), w.bench == nil || ready, w.askTones),
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Cancel"), ctrl(fyne.KeyPeriod), w.jobs.busy(), w.jobs.stop),
	)
}

// takeMenu has the commands on the take in sight.
func (w *Window) takeMenu(ready bool) *fyne.Menu {
	t, ok := w.inSight()
	several := ready && ok && len(t.Take.Heard) > 1
	return fyne.NewMenu(i18n.L("Take"),
		entry(i18n.L("How sure?"), ctrl(fyne.KeyU), ready && ok, w.howSure),
		entry(w.leaveOutWords(), ctrl(fyne.KeyBackspace), ready && ok, w.leaveOut),
		entry(i18n.L("Notes on this take…"), ctrl(fyne.KeyK), ready && ok, w.noteTake),
		entry(i18n.L("Correct plate and tempo…"), nil, ready && ok, w.askCorrect),
		fyne.NewMenuItemSeparator(),
		entry(w.listenWords(), ctrlShift(fyne.KeyL), ready && ok, w.listen),
		entry(i18n.L("Hear before or after"), ctrl(fyne.KeyB), w.listening.play != nil, w.listening.swap),
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Show the next voice"), ctrlShift(fyne.KeyRight), several, w.nextVoice),
		entry(w.aimVoiceWords(), ctrlShift(fyne.KeyU), several && w.voice != w.session().Target.Voice, w.aimAtVoice),
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Save a report…"), ctrl(fyne.KeyD), ready && ok, w.saveReport),
		entry(i18n.L("Save take picture…"), nil, ready && ok, w.savePicture),
		entry(i18n.L("Save the hit fan…"), nil, ready && ok, w.saveFan),
		w.copyOfTake(ready && ok),
	)
}

// changeMenu takes changes back, and has those of the hits of the take in sight.
func (w *Window) changeMenu(ready bool) *fyne.Menu {
	t, ok := w.inSight()
	var undo, redo string
	if w.bench != nil {
		undo, redo = w.bench.Undoable()
	}
	return fyne.NewMenu(i18n.L("Change"),
		entry(undoWords(undo), &fyne.ShortcutUndo{}, ready && undo != "", w.undo),
		entry(redoWords(redo), ctrlShift(fyne.KeyZ), ready && redo != "", w.redo),
		fyne.NewMenuItemSeparator(),
		entry(w.hitMenu.words(), ctrl(fyne.KeyDelete), ready && w.hitMenu.any, w.strikeOut),
		entry(i18n.L("Add hit"), ctrl(fyne.KeyI), ready && ok, w.addHit),
		entry(otherWords(t.Heard), ctrl(fyne.KeyJ), ready && ok, w.readOther),
	)
}

// songsMenu has the commands on the set list.
func (w *Window) songsMenu(ready bool) *fyne.Menu {
	listed := ready && w.listing
	some := listed && len(w.session().Songs) > 0
	sorted := entry(i18n.L("Sorted by tempo"), nil, listed, func() { w.songs.byTempo.SetChecked(!w.songs.byTempo.Checked) })
	sorted.Checked = w.songs.byTempo.Checked
	return fyne.NewMenu(i18n.L("Set list"),
		entry(w.listSongsWords(), ctrl(fyne.KeyL), ready, w.listSongs),
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Aim at this song"), ctrl(fyne.KeyG), some, w.aimAtSong),
		entry(i18n.L("Aim at the next take"), ctrlShift(fyne.KeyG), some, w.aimAtNext),
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Add song"), ctrlShift(fyne.KeyI), listed, w.addSong),
		entry(i18n.L("Voices and importance…"), ctrlShift(fyne.KeyV), some, w.askSong),
		entry(i18n.L("Play it earlier"), ctrlShift(fyne.KeyUp), some && w.songs.inOrder(), func() { w.moveSong(-1) }),
		entry(i18n.L("Play it later"), ctrlShift(fyne.KeyDown), some && w.songs.inOrder(), func() { w.moveSong(1) }),
		entry(i18n.L("Remove song"), ctrlShift(fyne.KeyDelete), some, w.removeSong),
		sorted,
		fyne.NewMenuItemSeparator(),
		entry(i18n.L("Import…"), nil, listed, w.chooseSongs),
		entry(i18n.L("Export…"), nil, some, w.saveSongs),
	)
}

func entry(label string, shortcut fyne.Shortcut, on bool, do func()) *fyne.MenuItem {
	i := fyne.NewMenuItem(label, do)
	i.Shortcut = shortcut
	i.Disabled = !on
	return i
}

func ctrl(key fyne.KeyName) fyne.Shortcut {
	return &desktop.CustomShortcut{KeyName: key, Modifier: fyne.KeyModifierShortcutDefault}
}

func ctrlShift(key fyne.KeyName) fyne.Shortcut {
	return &desktop.CustomShortcut{KeyName: key, Modifier: fyne.KeyModifierShortcutDefault | fyne.KeyModifierShift}
}
