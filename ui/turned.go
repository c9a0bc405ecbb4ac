package ui

import (
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2/widget"

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
	err := w.bench.Moved(steps, note)
	if w.changed("", err); err == nil {
		w.loop.dial.Turn(w.view().Setting)
	}
}

// askCorrect asks where the plate stood at the take in sight and what it was played
// for. Setting 0 is where it stood at the first one, so there it is not asked for.
func (w *Window) askCorrect() {
	t, ok := w.inSight()
	if !ok || !w.mayChange() {
		return
	}
	s, id, target := w.session(), t.Take.ID, t.Take.Target
	at := slices.IndexFunc(s.Takes, func(t session.Take) bool { return t.ID == id })
	setting := count(-mostSetting, mostSetting, false)
	setting.SetText(strconv.Itoa(s.SettingAt(at)))
	tempo := number(figure(target.TempoBPM), session.MinTempoBPM, session.MaxTempoBPM, false)
	song := newField(target.Song)
	first, hint := setting, i18n.L("in steps, as told; all later takes shift with it")
	if at == 0 {
		setting.Disable()
		first, hint = tempo, i18n.L("0 is where it stood at the first take")
	}
	w.form(i18n.F("Correct take %d", id), i18n.L("Keep"), []*widget.FormItem{
		item(i18n.L("Plate at"), hint, setting),
		item(i18n.L("Tempo"), i18n.L("in BPM, as it was meant"), tempo),
		item(i18n.L("Song"), i18n.L("may be left empty"), song),
	}, func() {
		err := w.bench.Correct(id, int(value(setting)), strings.TrimSpace(song.Text), value(tempo))
		w.changed(undoable(i18n.F("Plate and tempo of take %d are corrected.", id)), err)
	})
	w.win.Canvas().Focus(first)
}

// mostSetting is as far as anybody turns a plate from where it stood first, in steps.
const mostSetting = 10000

// leaveOut leaves the take in sight out of law and settings, or counts it again.
func (w *Window) leaveOut() {
	if w.showing == 0 || !w.mayChange() {
		return
	}
	id, out := w.showing, !w.leftOut()
	w.changed("", w.bench.LeaveOut(id, out))
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
