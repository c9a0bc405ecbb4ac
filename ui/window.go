package ui

import (
	"os"
	"path/filepath"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/machine"
	"lagwright/plotting"
	"lagwright/ui/desk"
	"lagwright/ui/diagnosis"
	"lagwright/ui/export"
	"lagwright/ui/history"
	"lagwright/ui/kit"
	"lagwright/ui/listen"
	"lagwright/ui/logbook"
	"lagwright/ui/prefs"
	"lagwright/ui/record"
	"lagwright/ui/setlist"
	"lagwright/ui/setup"
	"lagwright/ui/shelf"
	"lagwright/ui/takes"
	"lagwright/ui/tune"
)

// Window is Lagwright's only window: a welcome until a machine is open, then the loop,
// the take and the history, or the set list in place of these two.
type Window struct {
	desk *desk.Desk // what the rooms know of all this

	welcome   *shelf.Pane
	loop      *tune.Pane
	take      *takes.Pane
	listening *listen.Bar
	history   *history.Pane
	songs     *setlist.Pane
	record    *record.Recorder
	setup     *setup.Setup
	export    *export.Exports
	logs      *diagnosis.Logs
	zones     zones

	waiting     string // a recording to open in the machine that is opened next; empty = none
	wholeScreen bool   // the window was asked to have all of it
}

// New makes the window without showing it. The app's theme becomes Lagwright's, and
// all words are in the language that is preferred.
// sound is what records and plays.
func New(app fyne.App, sound capture.Sound) *Window {
	prefs.Of(app).Speak()
	w := newWindow(app, sound, func(f func()) { go f() })
	w.loop.Asks = true
	w.desk.Later = func(wait time.Duration, f func()) { time.AfterFunc(wait, func() { fyne.Do(f) }) }
	w.desk.Notice.Later = func(f func()) { w.desk.Later(newsStay, f) }
	return w
}

// newsStay is how long news can be read: all three sentences, twice.
const newsStay = 15 * time.Second

// newWindow makes one that runs long work by spawn, away from Fyne's goroutine. Tests
// run it in place, because Fyne's test driver has no goroutine of its own to come back
// to.
func newWindow(app fyne.App, sound capture.Sound, spawn func(func())) *Window {
	w := &Window{}
	d := &desk.Desk{Frame: &kit.Frame{Win: app.NewWindow("Lagwright"), Notice: kit.NewNotice(), OpenFile: app.OpenURL, Later: func(_ time.Duration, f func()) { f() }}, Prefs: prefs.Of(app), Sound: sound}
	d.Prefs.ApplyTheme(prefs.LeastText, prefs.MostText)
	d.Jobs = kit.NewJobs(spawn, func(bool) { w.refresh() })
	d.Refresh, d.MenuChanged, d.Aimed = w.refresh, w.showMenu, func(voice string) { w.take.ShowVoice(voice) }
	w.desk = d
	w.fit()
	w.arrange()
	w.recallSplits()
	w.put(nil)
	d.Win.SetContent(container.NewStack(container.NewBorder(nil, container.NewVBox(d.Notice.Card, d.Jobs.Strip), nil, nil, w.zones.body), kit.NewTips()))
	d.Win.Canvas().AddShortcut(&fyne.ShortcutRedo{}, func(fyne.Shortcut) { w.redo() }) // the menu's own is the other usual one
	// The number pad's Enter does what Return does, which stands in the menu.
	d.Win.Canvas().AddShortcut(kit.Ctrl(fyne.KeyEnter), func(fyne.Shortcut) { w.loop.TurnedAsAdvised() })
	d.Win.Canvas().AddShortcut(kit.CtrlShift(fyne.KeyEnter), func(fyne.Shortcut) { w.loop.AskMove() })
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
	w.listening = listen.New(d)
	w.take = takes.New(d, w.listening.Root, w.listening.Listen, func() { w.record.OfferStrays() })
	w.listening.Follow(w.take.InSight, w.take.Trace)
	w.setup = setup.New(d, w.listening.Hush)
	w.record = record.New(d, w.take, w.listening, record.Acts{
		Microphones: w.setup.AskMicrophones, Large: func(m live.Moment, at machine.Target) { w.loop.ShowLive(m, at) },
		BeforeTake: func(do func()) { w.loop.BeforeTake(do) }, ToTakes: w.toTakes,
	})
	w.loop = tune.New(d, tune.Acts{
		Play: w.record.Play, Press: w.record.Press, Open: w.record.ChooseRecording,
		Machine: w.setup.AskMachine, Cautions: func() { w.showHandbook("cautions.md") }, Following: func() machine.Target { return w.songs.Following() },
	})
	w.history = history.New(d, w.take.OpenTake, w.listSongs)
	w.songs = setlist.New(d, w.listSongs, w.setup.AskMachine)
	w.welcome = shelf.New(d, shelf.Acts{Put: w.put, Opened: w.record.Begin, Microphones: w.setup.AskMicrophones})
	w.loop.Far.Offer(w.songs.Aim, w.songs.Along[1], w.songs.Along[0], kit.NewButtonWithIcon(i18n.L("Whole window"), theme.ViewRestoreIcon(), func() { w.fromAfar(false) }))
	w.export = export.New(d, w.take.InSight, w.take.Trace, func() int { return w.songs.At })
	w.logs = diagnosis.New(d, w.welcome.OpenMachine)
	w.zones = zones{body: container.NewStack(), lower: container.NewVSplit(w.take.Root, w.history.Root)}
}

// Show shows the window.
func (w *Window) Show() { w.desk.Win.Show() }

// Within keeps the window within so many pixels of the screen; none are no bounds.
func (w *Window) Within(wide, high int) {
	c := w.desk.Win.Canvas()
	if size := c.Size().Min(fyne.NewSize(float32(wide)/c.Scale(), float32(high)/c.Scale())); size != c.Size() && !size.IsZero() && !w.wholeScreen {
		w.desk.Win.Resize(size)
	}
}

// FullScreen gives the window the whole screen, and each machine the large view: for a
// display on the machine that has no keyboard.
func (w *Window) FullScreen() {
	w.wholeScreen = true
	w.desk.Win.SetFullScreen(true)
	w.relook()
	w.fromAfar(w.desk.Bench != nil)
}

// Open opens a machine folder, or the zip of one, and shows its last take; anything else
// as a recording, in the machine that it lies in, that is open or that is opened next. It
// may be called before the window is shown.
func (w *Window) Open(path string) {
	info, err := os.Stat(path)
	in := filepath.Dir(path)
	switch {
	case err != nil, info.IsDir(), shelf.IsZip(path):
		w.welcome.Open(path)
	case w.desk.Bench != nil:
		w.record.OpenRecording(path, false)
	case machine.IsIn(in):
		w.welcome.Open(in) // which offers what lies there without a take
	default:
		w.waiting = path
		w.desk.Notice.Say(i18n.F("Open or begin a machine; then %s is opened in it.", filepath.Base(path)), false)
	}
}

// Practice opens a new simulated machine, or the latest one
// that has no take yet and is not open elsewhere.
func (w *Window) Practice() { w.welcome.Practice() }

// KeepLog gives the window its log, and offers what a crash of an earlier run has
// left. It is called once the window is shown, with a machine or without.
func (w *Window) KeepLog(b *logbook.Book) { w.logs.Keep(b, w.wholeScreen) }

// Names of the preferences that are the window's own.
const (
	prefWidth  = "window.width"
	prefHeight = "window.height"
)

// Quit closes the window as its own button does. It may be called from any goroutine.
// Where the toolkit has ended before, which hears signals too, it does nothing.
func (w *Window) Quit() {
	w.logs.Log.Over()
	w.desk.Jobs.Over()
	defer func() { _ = recover() }() // the toolkit would do it here then, and not find its window
	fyne.Do(w.quit)
}

// quit remembers the window's size and where it is divided, and closes. Everything else
// was saved when it happened.
func (w *Window) quit() {
	if size := w.desk.Win.Canvas().Size(); !w.loop.Far.InSight {
		w.desk.Prefs.SetFloat(prefWidth, float64(size.Width))
		w.desk.Prefs.SetFloat(prefHeight, float64(size.Height))
	}
	w.rememberSplits()
	w.logs.Log.Over()
	w.desk.Jobs.Over()
	w.desk.Jobs.Stop()
	w.put(nil)
	w.listening.Unplug()
	w.desk.Win.Close()
}

// OnClosed has f run once all is saved and the window is closed.
func (w *Window) OnClosed(f func()) { w.desk.Win.SetOnClosed(f) }

// put replaces the open machine; nil shows the welcome.
func (w *Window) put(b *bench.Bench) {
	d := w.desk
	w.record.Leave()
	w.listening.Hush()
	w.songs.Begin()
	w.take.Clear()
	if d.Bench != nil {
		w.loop.HintsDone()
		d.Bench.Close()
	}
	if d.Bench != nil || b != nil {
		diagnosis.LogMachine(b)
	}
	d.Bench = b
	if b == nil {
		w.fromAfar(false)
	}
	w.loop.Begin()
	if b == nil {
		w.welcome.Refresh()
	}
	w.lay()
	d.Win.Canvas().Unfocus() // or what is not there any more keeps the space bar
	w.refresh()
	if w.wholeScreen && b != nil {
		w.fromAfar(true)
	}
	if path := w.waiting; path != "" && b != nil {
		w.waiting = ""
		w.record.OpenRecording(path, false)
	}
}

// closeMachine goes back to the welcome.
func (w *Window) closeMachine() {
	if w.desk.Ready() {
		w.desk.Notice.Clear() // it may offer to undo
		w.put(nil)
	}
}

// closeTop closes what lies uppermost: a dialog, or the machine.
func (w *Window) closeTop() {
	if !w.desk.Dismiss() && !w.takePlayed() {
		w.closeMachine()
	}
}

// takePlayed reports whether a take is played, and says that it goes first.
func (w *Window) takePlayed() bool {
	if w.desk.Playing {
		w.desk.Notice.Say(i18n.L("A take is being recorded: stop it first, with the space bar."), false)
	}
	return w.desk.Playing
}

// refresh has every room show the view that the machine has now.
func (w *Window) refresh() {
	d := w.desk
	if d.Bench == nil {
		w.showMenu()
		d.Win.SetTitle("Lagwright")
		return
	}
	v := d.View()
	d.Shown = v
	title, readOnly := v.Machine.Build.Name, d.Bench.ReadOnly() != nil
	if readOnly {
		title = i18n.F("%s (read only)", title)
	}
	d.Win.SetTitle(title + " – " + v.Do + " – Lagwright") // where the loop stands, also from another window
	w.take.Show(v)
	w.songs.Show(v)
	w.showMenu()
	if !d.Playing {
		w.loop.Show(v, readOnly)
	}
	w.loop.Enable(!d.Jobs.Busy() && !d.Deaf)
	curve := plotting.SetListCurveOf(v, w.songs.At)
	if w.take.Showing != 0 {
		curve = curve.Shown(w.take.Showing, w.take.Voice)
	}
	w.history.Show(v, curve, w.take.Showing, w.take.Voice)
}

// showMenu brings the menu up to what can be done now; seen from afar there is none.
func (w *Window) showMenu() {
	if w.loop.Far.InSight {
		w.desk.Win.SetMainMenu(nil)
	} else {
		w.desk.Win.SetMainMenu(kit.WithKeys(w.menu()))
	}
}

// relook shows another theme or size of text at once.
func (w *Window) relook() {
	least, most := prefs.LeastText, prefs.MostText
	if w.wholeScreen || w.loop.Far.InSight {
		least = fingers
	}
	if w.loop.Far.InSight {
		most = fingers // what is to be read grows with the room there
	}
	w.desk.Prefs.ApplyTheme(least, most)
	w.arrange()
	w.lay()
	w.refresh()
}

// askPreferences asks for what the window keeps for every machine.
func (w *Window) askPreferences() {
	if w.desk.Free() {
		w.desk.Prefs.Ask(w.desk.Frame, w.relook)
	}
}
