package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/session"
	"lagwright/ui/logbook"
)

// Window is Lagwright's only window: a welcome until a session is open, then the loop,
// the take and the history, or the set list in place of these two.
type Window struct {
	desk *Desk // what the rooms know of all this

	welcome   *welcome
	loop      *loopPane
	take      *takePane
	listening *listenBar
	history   *recordPane
	songs     *songsPane
	record    *recorder
	setup     *setup
	export    *exports
	logs      *logs
	zones     zones
}

// New makes the window without showing it. The app's theme becomes Lagwright's, and
// all words are in the language that is preferred.
// sound is what records and plays.
func New(app fyne.App, sound capture.Sound) *Window {
	PrefsOf(app).Speak()
	w := newWindow(app, sound, func(f func()) { go f() })
	w.loop.asks = true
	return w
}

// newWindow makes one that runs long work by spawn, away from Fyne's goroutine. Tests
// run it in place, because Fyne's test driver has no goroutine of its own to come back
// to.
func newWindow(app fyne.App, sound capture.Sound, spawn func(func())) *Window {
	w := &Window{}
	d := &Desk{Frame: &Frame{Win: app.NewWindow("Lagwright"), Notice: newNotice()}, Prefs: PrefsOf(app), Sound: sound}
	d.Prefs.ApplyTheme()
	d.Jobs = newJobs(spawn, func(bool) { w.refresh() })
	d.Refresh, d.MenuChanged, d.Aimed = w.refresh, w.showMenu, func(voice string) { w.take.showVoice(voice) }
	w.desk = d
	w.fit()
	w.arrange()
	w.recallSplits()
	w.put(nil)
	d.Win.SetContent(container.NewBorder(nil, container.NewVBox(d.Jobs.strip, d.Notice.root), nil, nil, w.zones.body))
	d.Win.Canvas().AddShortcut(&fyne.ShortcutRedo{}, func(fyne.Shortcut) { w.redo() }) // the menu's own is the other usual one
	d.Win.Canvas().SetOnTypedKey(w.typed)
	d.Win.Canvas().SetOnTypedRune(w.typedRune)
	d.Win.SetOnDropped(func(_ fyne.Position, uris []fyne.URI) { w.dropped(uris) })
	d.Win.SetCloseIntercept(w.quit)
	d.Win.Resize(fyne.NewSize(
		float32(d.Prefs.FloatWithFallback(prefWidth, 1280)),
		float32(d.Prefs.FloatWithFallback(prefHeight, 800)),
	))
	return w
}

// fit makes the rooms and tells each what others do for it.
func (w *Window) fit() {
	d := w.desk
	w.listening = newListenBar(d)
	w.take = newTakePane(d, w.listening.root, w.listening.listen, func() { w.record.offerStrays() })
	w.listening.follow(w.take.inSight, w.take.trace)
	w.setup = newSetup(d, w.listening.hush)
	w.record = newRecorder(d, w.take, w.listening, w.setup.askMicrophones, func(m live.Moment, at session.Target) { w.loop.showLive(m, at) })
	w.loop = newLoopPane(d, loopActs{
		play: w.record.playTake, record: w.record.recordTake, press: w.record.press, open: w.record.chooseRecording,
		all: w.record.playAll, plate: w.setup.askPlate,
	})
	w.history = newRecordPane(d, w.take.openTake, w.listSongs)
	w.songs = newSongsPane(d, w.listSongs, w.setup.askMachine, w.setup.askPlate)
	w.welcome = newWelcome(d, welcomeActs{put: w.put, opened: w.record.begin, microphones: w.setup.askMicrophones})
	w.export = newExports(d, w.take.inSight, w.take.trace, func() int { return w.songs.at })
	w.logs = newLogs(d, w.welcome.openSession)
	w.zones = zones{body: container.NewStack(), lower: container.NewVSplit(w.take.root, w.history.root)}
}

// Show shows the window.
func (w *Window) Show() { w.desk.Win.Show() }

// OpenSession opens a session folder and shows its last take. It may be called
// before the window is shown.
func (w *Window) OpenSession(dir string) { w.welcome.openSession(dir) }

// Practice opens a new session with the simulated machine, or the latest one
// that has no take yet and is not open elsewhere.
func (w *Window) Practice() { w.welcome.practice() }

// KeepLog gives the window its log, and offers what a crash of an earlier run has
// left. It is called once the window is shown, with a session or without.
func (w *Window) KeepLog(b *logbook.Book) { w.logs.keep(b) }

// Names of the preferences that are the window's own.
const (
	prefWidth  = "window.width"
	prefHeight = "window.height"
)

// quit remembers the window's size and where it is divided, and closes. Everything else
// was saved when it happened.
func (w *Window) quit() {
	size := w.desk.Win.Canvas().Size()
	w.desk.Prefs.SetFloat(prefWidth, float64(size.Width))
	w.desk.Prefs.SetFloat(prefHeight, float64(size.Height))
	w.rememberSplits()
	w.desk.Jobs.stop()
	w.put(nil)
	w.listening.unplug()
	w.desk.Win.Close()
}

// put replaces the open session; nil shows the welcome.
func (w *Window) put(b *bench.Bench) {
	d := w.desk
	w.record.leave()
	w.listening.hush()
	w.songs.begin()
	w.take.show(nil)
	if d.Bench != nil {
		w.loop.hintsDone()
		d.Bench.Close()
	}
	if d.Bench != nil || b != nil {
		logSession(b)
	}
	d.Bench = b
	w.loop.begin()
	if b == nil {
		w.welcome.refresh()
	}
	w.lay()
	d.Win.Canvas().Unfocus() // or what is not there any more keeps the space bar
	w.refresh()
}

// closeSession goes back to the welcome.
func (w *Window) closeSession() {
	if w.desk.Ready() {
		w.desk.Notice.clear() // it may offer to undo
		w.put(nil)
	}
}

// closeTop closes what lies uppermost: a dialog, or the session.
func (w *Window) closeTop() {
	if !w.desk.Dismiss() {
		w.closeSession()
	}
}

// refresh has every room show the view that the session has now.
func (w *Window) refresh() {
	d := w.desk
	if d.Bench == nil {
		w.showMenu()
		d.Win.SetTitle("Lagwright")
		return
	}
	v := d.View()
	title, readOnly := v.Session.Name, d.Bench.ReadOnly() != nil
	if readOnly {
		title = i18n.F("%s (read only)", title)
	}
	d.Win.SetTitle(title + " – " + v.Do + " – Lagwright") // where the loop stands, also from another window
	w.take.refresh(v)
	w.songs.show(v)
	w.showMenu()
	shown := v.Findings
	if w.songs.inSight {
		shown = nil // the set list says it below
	}
	if !d.Playing {
		w.loop.show(v, shown, w.record.all, readOnly)
	}
	w.loop.enable(!d.Jobs.busy())
	w.history.show(v, w.songs.curveOf(v), w.take.showing, w.take.voice)
}

// showMenu brings the menu up to what can be done now.
func (w *Window) showMenu() { w.desk.Win.SetMainMenu(w.menu()) }

// relook shows another theme or size of text at once.
func (w *Window) relook() {
	w.desk.Prefs.ApplyTheme()
	w.arrange()
	w.lay()
	w.refresh()
}

// askPreferences asks for what the window keeps for every session.
func (w *Window) askPreferences() {
	if w.desk.Free() {
		w.desk.Prefs.Ask(w.desk.Frame, w.relook)
	}
}
