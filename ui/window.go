package ui

import (
	"log/slog"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/calib/take"
	"lagwright/ui/clip"
	"lagwright/ui/logbook"
)

// Window is Lagwright's only window: a welcome until a session is open, then
// the loop, the take and the record.
type Window struct {
	app fyne.App
	win fyne.Window

	bench   *bench.Bench // nil while the welcome shows
	showing int          // id of the take in sight; 0 = none
	voice   string       // which of its voices
	all     bool         // the simulated machine plays with a microphone on every voice
	files   fileKeys     // of the file dialog that was shown last
	strays  []string     // recordings without a take that are still to be offered
	file    *take.File   // the recording in sight; nil = none
	hitMenu hitMenu      // as the menu has it

	cautioned   bool // the caution before moves was acknowledged in this session
	asksCaution bool // that is asked for; tests of other things leave it out

	welcome *welcome
	loop    *loopPane
	take    *takePane
	record  *recordPane
	songs   *songsPane
	listing bool // the set list is in sight in place of take and record
	notice  *notice
	jobs    *jobs

	sound     capture.Sound // of this computer
	live      *liveTake     // the take that is played; nil = none
	mics      *microphones  // the dialog, while it is open
	begin     *beginForm    // the dialog, as it was shown last
	spoken    *live.Speaker // the output, once it was needed
	listening *listenBar
	body      *fyne.Container   // welcome or the three zones
	scroll    *container.Scroll // what lies in it
	lower     *container.Split  // take above record

	// spawn runs long work away from Fyne's goroutine. Tests run it in place,
	// because Fyne's test driver has no goroutine of its own to come back to.
	spawn func(func())

	copyPNG func(png []byte) error // puts a picture on the clipboard
	log     *logbook.Book          // nil without one
}

// New makes the window without showing it. The app's theme becomes Lagwright's, and
// all words are in the language that is preferred.
// sound is what records and plays.
func New(app fyne.App, sound capture.Sound) *Window {
	speakPreferred(app)
	w := newWindow(app, sound, func(f func()) { go f() })
	w.asksCaution = true
	return w
}

func newWindow(app fyne.App, sound capture.Sound, spawn func(func())) *Window {
	w := &Window{app: app, win: app.NewWindow("Lagwright"), sound: sound, spawn: spawn, copyPNG: clip.Picture}
	w.applyTheme()
	w.notice = newNotice()
	w.jobs = newJobs(spawn, func(bool) { w.refresh() })
	w.loop = newLoopPane(w)
	w.listening = newListenBar(w)
	w.take = newTakePane(w)
	w.take.trace.SetHint(i18n.L(traceHint))
	w.take.trace.OnEdit, w.take.trace.OnHit = w.editHit, w.hitSelected
	w.record = newRecordPane(w)
	w.songs = newSongsPane(w)
	w.welcome = newWelcome(w)
	w.lower = container.NewVSplit(w.take.root, w.record.root)
	w.body = container.NewStack()
	w.arrange()
	w.recallSplits()
	w.put(nil)
	w.win.SetContent(container.NewBorder(nil, container.NewVBox(w.jobs.strip, w.notice.root), nil, nil, w.body))
	w.win.Canvas().AddShortcut(&fyne.ShortcutRedo{}, func(fyne.Shortcut) { w.redo() }) // the menu's own is the other usual one
	w.win.Canvas().SetOnTypedKey(w.typed)
	w.win.Canvas().SetOnTypedRune(w.typedRune)
	w.win.SetOnDropped(func(_ fyne.Position, uris []fyne.URI) { w.dropped(uris) })
	w.win.SetCloseIntercept(w.quit)
	w.win.Resize(fyne.NewSize(
		float32(app.Preferences().FloatWithFallback(prefWidth, 1280)),
		float32(app.Preferences().FloatWithFallback(prefHeight, 800)),
	))
	return w
}

// Show shows the window.
func (w *Window) Show() { w.win.Show() }

// Names and values of the preferences.
const (
	prefTheme  = "theme"
	prefWidth  = "window.width"
	prefHeight = "window.height"
	// prefRecordings is the folder the last recording was opened from.
	prefRecordings = "recordings"
	prefPaper      = "paper"
)

// quit remembers the window's size and where it is divided, and closes. Everything else was saved when
// it happened.
func (w *Window) quit() {
	size := w.win.Canvas().Size()
	w.app.Preferences().SetFloat(prefWidth, float64(size.Width))
	w.app.Preferences().SetFloat(prefHeight, float64(size.Height))
	w.rememberSplits()
	w.jobs.stop()
	w.put(nil)
	w.unplug()
	w.win.Close()
}

// put replaces the open session; nil shows the welcome.
func (w *Window) put(b *bench.Bench) {
	w.leaveLive()
	w.hush()
	w.songs.leave()
	w.songs.at, w.listing, w.strays = 0, false, nil
	w.show(nil, nil)
	if w.bench != nil {
		w.hintsDone()
		w.bench.Close()
	}
	if w.bench != nil || b != nil {
		logSession(b)
	}
	w.bench, w.cautioned = b, !w.asksCaution
	if b == nil {
		w.welcome.refresh()
	}
	w.lay()
	w.win.Canvas().Unfocus() // or what is not there any more keeps the space bar
	w.refresh()
}

// lay puts the welcome or the zones into the window; where text is too large for
// all of it they scroll.
func (w *Window) lay() {
	shown := w.welcome.root
	if w.bench != nil {
		shown = w.zones()
	}
	w.scroll = container.NewScroll(shown)
	w.body.Objects = []fyne.CanvasObject{w.scroll}
	w.body.Refresh()
}

// zones lays out the loop above the take above the record, or above the set list.
func (w *Window) zones() fyne.CanvasObject {
	if w.listing {
		return border(w.loop.root, nil, nil, nil, w.songs.root)
	}
	return border(w.loop.root, nil, nil, nil, w.lower)
}

// intoSight scrolls to a zone that large text has pushed out of the window.
func (w *Window) intoSight(zone fyne.CanvasObject) {
	if w.scroll.Content.Size().Height > w.scroll.Size().Height+1 {
		w.scroll.ScrollToOffset(fyne.NewPos(0, zone.Position().Y))
	}
}

// scrollBy goes on by so many pages where large text has pushed zones out of the
// window; a quarter of the page stays in sight.
func (w *Window) scrollBy(pages float32) {
	page := w.scroll.Size().Height * 0.75
	most := max(0, w.scroll.Content.Size().Height-w.scroll.Size().Height)
	w.scroll.ScrollToOffset(fyne.NewPos(0, min(max(w.scroll.Offset.Y+pages*page, 0), most)))
}

// acknowledge takes the caution before moves as read, for this session.
func (w *Window) acknowledge() {
	if w.ready() && !w.cautioned {
		w.cautioned = true
		w.refresh()
	}
}

// refresh brings every pane up to what the session says.
func (w *Window) refresh() {
	if w.bench == nil {
		w.win.SetMainMenu(w.menu())
		w.win.SetTitle("Lagwright")
		return
	}
	at := w.view()
	s := at.Session
	title := s.Name
	if w.loop.readOnly = w.bench.ReadOnly() != nil; w.loop.readOnly {
		title = i18n.F("%s (read only)", s.Name)
	}
	w.win.SetTitle(title + " – " + at.Do + " – Lagwright") // where the loop stands, also from another window
	t, taken := w.inSight()
	if taken {
		w.voice = t.Voice
	}
	w.songs.show(at)
	w.win.SetMainMenu(w.menu()) // it goes by what the plan says now
	shown := at.Findings
	if w.listing {
		shown = nil // the set list says it below
	}
	if w.live == nil {
		w.loop.show(at, shown, w.all, w.cautioned)
	}
	w.loop.enable(!w.jobs.busy())
	w.record.show(at, w.songs.curveOf(at), w.showing, w.voice)
	if taken {
		w.take.offer(t, s)
	}
}

// tell shows an error as a sentence; a cancelled job is no news.
func (w *Window) tell(err error) {
	if err != nil && !cancelled(err) {
		slog.Warn("told", "error", err)
		w.notice.say(err.Error(), true)
	}
}

// view returns what the open session means and what to do next; not to be changed.
func (w *Window) view() *loop.View { return w.bench.View() }

// session returns the open session; not to be changed.
func (w *Window) session() session.Session { return w.view().Session }
