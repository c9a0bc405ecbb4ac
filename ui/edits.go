package ui

import (
	"context"
	"reflect"

	"fyne.io/fyne/v2"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// editHit changes a hit of the take in sight by hand; reading, advice and curve
// follow.
func (w *Window) editHit(e session.Edit) {
	if w.ready() && w.showing != 0 {
		w.changed = false
		w.byHand(func() error { return w.bench.Edit(w.showing, e) })
	}
}

// byHand changes the take in sight, whose own voice becomes the one in sight: only
// that one's hits are changed.
func (w *Window) byHand(change func() error) error {
	err := w.bench.Own(w.showing, w.voice)
	if err == nil {
		err = change()
	}
	w.hitsChanged(err)
	return err
}

// editing returns what Undo or Redo works on, which can tells of a take or of
// bench.SetList: the set list where that is in sight; else what was changed last of
// the session and the hits of the take in sight, and then the other of the two.
func (w *Window) editing(can func(id int) bool) (id int, ok bool) {
	if w.bench == nil {
		return 0, false
	}
	order := []int{w.showing, bench.SetList}
	switch {
	case w.listing:
		order = []int{bench.SetList}
	case w.changed || w.showing == 0:
		order = []int{bench.SetList, w.showing}
	}
	for _, id := range order {
		if can(id) {
			return id, true
		}
	}
	return 0, false
}

// canUndo reports whether something was changed that can be taken back.
func (w *Window) canUndo(id int) bool {
	t, _ := w.inSight()
	return id == bench.SetList && w.bench.CanUndo(id) || id != bench.SetList && t.ByHand != nil
}

// canRedo reports whether something was taken back that can be made again.
func (w *Window) canRedo(id int) bool {
	return w.bench.CanRedo(id) && (id == bench.SetList || w.ownInSight())
}

// undoable reports whether Undo and Redo have something to do.
func (w *Window) undoable() (undo, redo bool) {
	_, undo = w.editing(w.canUndo)
	_, redo = w.editing(w.canRedo)
	return undo, redo
}

// ownInSight reports whether the voice in sight is the take's own.
func (w *Window) ownInSight() bool {
	for _, t := range w.session().Takes {
		if t.ID == w.showing {
			return t.Target.Voice == w.voice
		}
	}
	return false
}

// undo takes the last change back. Under a dialog the shortcut means what is being
// typed there: the menu gets it first.
func (w *Window) undo() {
	w.takeBack(w.canUndo, (*bench.Bench).Undo, &fyne.ShortcutUndo{})
}

// redo makes it again.
func (w *Window) redo() {
	w.takeBack(w.canRedo, (*bench.Bench).Redo, &fyne.ShortcutRedo{})
}

// takeBack does what undo or redo can, or hands the shortcut to what has the
// keyboard.
func (w *Window) takeBack(can func(id int) bool, do func(b *bench.Bench, id int) error, shortcut fyne.Shortcut) {
	if !w.ready() {
		w.handOn(shortcut)
		return
	}
	w.songs.commit() // what is being typed is the last change
	if id, some := w.editing(can); some {
		w.notice.clear() // it may speak of what is undone
		w.change(id, do)
	}
}

// handOn gives a shortcut to what has the keyboard.
func (w *Window) handOn(shortcut fyne.Shortcut) {
	if typed, ok := w.win.Canvas().Focused().(fyne.Shortcutable); ok {
		typed.TypedShortcut(shortcut)
	}
}

// change undoes or makes again a change of the set list or of the take in sight.
func (w *Window) change(id int, do func(b *bench.Bench, id int) error) {
	if w.changed = id == bench.SetList; w.changed {
		before := w.session().Songs
		w.anew(func(_ context.Context, b *bench.Bench) error { return do(b, id) }, func(err error) {
			w.hitsChanged(err)
			if !w.listing && !reflect.DeepEqual(before, w.session().Songs) {
				w.listSongs() // or nobody sees what was done
			}
		})
		return
	}
	w.byHand(func() error { return do(w.bench, id) })
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
	w.notice.clear()
	w.changed = false
	var other bench.Other
	err := w.byHand(func() (err error) {
		other, err = w.bench.ReadOther(w.showing)
		return err
	})
	if err == nil {
		w.notice.say(otherSaid(w.showing, other), false)
	}
}

// otherWords is the command that readOther answers to.
func otherWords(t session.Take) string {
	other, ok := bench.OtherSound(t)
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

// anewTakes is how many takes get their advice anew in the wink of an eye; with
// more it is a job.
const anewTakes = 12

// anew changes machine, moves or takes that count, after which all takes may get
// their advice anew; done hears how that went.
func (w *Window) anew(change func(context.Context, *bench.Bench) error, done func(error)) {
	b := w.bench
	if len(b.Session().Takes) <= anewTakes {
		done(change(context.Background(), b))
		return
	}
	start(w.jobs, i18n.L("Giving the takes their advice anew…"), func(ctx context.Context, _ func(float64)) (struct{}, error) {
		return struct{}{}, change(ctx, b)
	}, func(_ struct{}, err error) { done(err) })
}

// sessionChanged shows what the session gives once machine, moves or takes that
// count were changed, and says so; Undo takes it back.
func (w *Window) sessionChanged(words string, err error) {
	w.notice.clear()
	if err == nil {
		w.changed = true
		w.notice.say(words+" "+i18n.L("Undo takes that back."), false)
	}
	w.hitsChanged(err)
}

// hitsChanged shows what the hits of the take in sight give now.
func (w *Window) hitsChanged(err error) {
	if t, ok := w.inSight(); ok && err == nil {
		w.take.follow(t)
	}
	w.tell(err)
	w.refresh()
}

// inSight returns the take in sight, as the voice in sight has it.
func (w *Window) inSight() (t session.Take, ok bool) {
	if w.bench == nil {
		return session.Take{}, false
	}
	for _, t := range w.session().Takes {
		if t.ID == w.showing {
			if as, ok := t.As(w.voice); ok {
				return as, true
			}
			return t, true
		}
	}
	return session.Take{}, false
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
func changedWords(t session.Take) string {
	n := t.Changed()
	return i18n.N(n, "1 hit changed by hand", "%d hits changed by hand", n)
}
