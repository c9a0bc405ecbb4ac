package ui

import (
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// turnedAsAdvised records that the plate was turned as the window says.
func (w *Window) turnedAsAdvised() {
	if !w.ready() {
		return
	}
	if at := w.view(); at.Stage == loop.AwaitMove {
		w.turned(at.Steps, "")
	}
}

// turned records what was done to the plate and shows it turning there.
func (w *Window) turned(steps int, note string) {
	if err := w.bench.Moved(steps, note); err != nil {
		w.tell(err)
		return
	}
	w.refresh()
	w.loop.dial.Turn(w.view().Setting)
}

// leaveOut leaves the take in sight out of law and settings, or counts it again.
func (w *Window) leaveOut() {
	if w.showing == 0 || !w.mayChange() {
		return
	}
	id, out := w.showing, !w.leftOut()
	w.hitsChanged(w.bench.LeaveOut(id, out))
}

func (w *Window) leaveOutWords() string {
	if w.leftOut() {
		return i18n.L("Count this take again")
	}
	return i18n.L("Leave this take out")
}

// leftOut reports whether the take in sight is left out.
func (w *Window) leftOut() bool {
	t, ok := w.inSight()
	return ok && t.Take.LeftOut
}

// aim points the loop at another tempo, voice or song.
func (w *Window) aim(target session.Target) {
	w.tell(w.bench.Aim(target))
	w.refresh()
	w.showVoice(target.Voice)
}
