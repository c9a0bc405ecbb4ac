package ui

import (
	"reflect"

	"fyne.io/fyne/v2"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// editHit changes a hit of the voice in sight by hand; reading and curve follow.
func (w *Window) editHit(e session.Edit) {
	if w.ready() && w.showing != 0 {
		w.changed("", w.bench.Edit(w.showing, w.voice, e))
	}
}

// undo takes the last change back and says which. Under a dialog the shortcut means
// what is being typed there: the menu gets it first.
func (w *Window) undo() {
	w.takeBack((*bench.Bench).Undo, &fyne.ShortcutUndo{}, func(what string) string { return i18n.F("Undone: %s.", what) })
}

// redo makes it again.
func (w *Window) redo() {
	w.takeBack((*bench.Bench).Redo, &fyne.ShortcutRedo{}, func(what string) string { return i18n.F("Redone: %s.", what) })
}

// takeBack does what undo or redo can, or hands the shortcut to what has the
// keyboard.
func (w *Window) takeBack(do func(*bench.Bench) (string, error), shortcut fyne.Shortcut, said func(what string) string) {
	if !w.ready() {
		w.handOn(shortcut)
		return
	}
	w.songs.commit() // what is being typed is the last change
	before := w.session().Songs
	what, err := do(w.bench)
	if what == "" && err == nil {
		return
	}
	w.changed(said(inFont(what)), err)
	if !w.listing && !reflect.DeepEqual(before, w.session().Songs) {
		w.listSongs() // or nobody sees what was done
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

// handOn gives a shortcut to what has the keyboard.
func (w *Window) handOn(shortcut fyne.Shortcut) {
	if typed, ok := w.win.Canvas().Focused().(fyne.Shortcutable); ok {
		typed.TypedShortcut(shortcut)
	}
}

// strikeOut strikes out the hit selected in the trace, or puts it back.
func (w *Window) strikeOut() {
	if w.mayChange() {
		w.take.trace.StrikeOut()
	}
}

// addHit adds a hit at the trace's cursor.
func (w *Window) addHit() {
	if w.mayChange() {
		w.take.trace.AddHit()
	}
}

// readOther reads the take in sight by the other sound of its voice: the builder
// knows which is the gate and which the strike.
func (w *Window) readOther() {
	if w.showing == 0 || !w.mayChange() {
		return
	}
	other, err := w.bench.ReadOther(w.showing, w.voice)
	w.changed(otherSaid(w.showing, other), err)
}

// otherWords is the command that readOther answers to.
func otherWords(h session.Heard) string {
	other, ok := bench.OtherSound(h)
	switch {
	case !ok:
		return i18n.L("Read the other sound")
	case other.GapMS < 0:
		return i18n.F("Read the sound %.0f ms before", -other.GapMS)
	}
	return i18n.F("Read the sound %.0f ms after", other.GapMS)
}

// otherSaid says that a take is read by the other sound now.
func otherSaid(take int, other bench.Other) string {
	if other.GapMS < 0 {
		return i18n.F("Take %d is now read by the sound %.0f ms before the one it was read by. Undo takes that back.", take, -other.GapMS)
	}
	return i18n.F("Take %d is now read by the sound %.0f ms after the one it was read by. Undo takes that back.", take, other.GapMS)
}

// undoable ends what is said of a change that nobody sees at a glance.
func undoable(words string) string { return words + " " + i18n.L("Undo takes that back.") }

// changed shows what the session gives once facts of it were changed, and says what
// was done, or why that could not be. What was said before is no news any more.
func (w *Window) changed(said string, err error) {
	w.notice.clear()
	if w.tell(err); err == nil && said != "" {
		w.notice.say(said, false)
	}
	if t, ok := w.inSight(); ok {
		w.take.follow(t)
	}
	w.refresh()
}

// inSight returns what the take in sight says of the voice in sight; of another where
// that has a new name by now.
func (w *Window) inSight() (r loop.Result, ok bool) {
	if w.bench == nil {
		return loop.Result{}, false
	}
	v := w.view()
	if r, ok = v.Result(w.showing, w.voice); ok {
		return r, true
	}
	if t := v.Session.Take(w.showing); t != nil {
		return resultIn(v, t), true
	}
	return loop.Result{}, false
}

// hitSelected keeps the menu's commands on hits in step with the trace.
func (w *Window) hitSelected() {
	h, ok := w.take.trace.Hit()
	if now := (hitMenu{ok, h.Struck}); now != w.hitMenu {
		w.hitMenu = now
		w.win.SetMainMenu(w.menu())
	}
}

// hitMenu is what the menu says about the selected hit.
type hitMenu struct{ any, struck bool }

func (m hitMenu) words() string {
	if m.struck {
		return i18n.L("Put hit back")
	}
	return i18n.L("Strike out hit")
}

// changedWords counts the hits of a take that were changed by hand.
func changedWords(t loop.Result) string {
	n := t.Changed()
	return i18n.N(n, "1 hit changed by hand", "%d hits changed by hand", n)
}
