package ui

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/calib/take"
	"lagwright/ui/trace"
)

// ready reports whether a command on the open session may run now: not while a
// job runs, and not under a dialog, which the menu's shortcuts would reach past.
func (w *Window) ready() bool { return w.bench != nil && w.free() }

// mayChange is ready for a command that changes the session; of one that can only be
// read it says why, before anybody types or plays for nothing.
func (w *Window) mayChange() bool {
	if !w.ready() {
		return false
	}
	err := w.bench.ReadOnly()
	if err != nil {
		w.notice.clear()
		w.tell(err)
	}
	return err == nil
}

// free reports whether a command that needs no session may run now: no take is
// being played either.
func (w *Window) free() bool {
	return !w.jobs.busy() && w.live == nil && w.win.Canvas().Overlays().Top() == nil
}

// playTake lets the simulated machine play.
func (w *Window) playTake() {
	if !w.ready() {
		return
	}
	all := w.all
	w.measure(i18n.L("Playing…"), func(ctx context.Context, b *bench.Bench, progress func(float64)) (session.Take, error) {
		if all {
			return b.PlayAll(ctx, progress)
		}
		return b.Play(ctx, progress)
	})
}

// playAll chooses whether the simulated machine plays with a microphone on every
// voice, or on the one aimed at.
func (w *Window) playAll(all bool) {
	if w.all != all {
		w.all = all
		w.refresh()
	}
}

// addRecording copies a recording into the session and measures it.
func (w *Window) addRecording(path string, ch bench.Channels) {
	w.measure(i18n.F("Measuring %s…", filepath.Base(path)), func(ctx context.Context, b *bench.Bench, progress func(float64)) (session.Take, error) {
		return b.Add(ctx, path, ch, progress)
	})
}

// seen is a take ready to be looked at.
type seen struct {
	take  loop.Result
	file  *take.File
	waves *trace.Take
}

// measure runs a job that ends in a new take and shows it.
func (w *Window) measure(name string, job func(context.Context, *bench.Bench, func(float64)) (session.Take, error)) {
	b := w.bench
	w.notice.clear()
	start(w.jobs, name, func(ctx context.Context, progress func(float64)) (seen, error) {
		t, err := job(ctx, b, func(x float64) { progress(0.8 * x) })
		if err != nil {
			return seen{}, err
		}
		r := resultIn(b.View(), &t)
		logTake(r)
		s, err := prepare(ctx, b, r, func(x float64) { progress(0.8 + 0.2*x) })
		if err != nil {
			return seen{}, i18n.Errorf("take %d was measured and kept, but its waveforms were not drawn (%s): choose it in the list of takes to see them", t.ID, inShort(err))
		}
		return s, nil
	}, w.arrived)
}

// inShort is an error as part of a sentence, or that the person cancelled. It goes to
// %s, not to %w, so that the sentence is not taken for either by those who look for
// the cause.
func inShort(err error) error {
	if cancelled(err) {
		return i18n.Errorf("cancelled")
	}
	return err
}

// resultIn returns what a take says of the voice that the loop aims at, or of its first.
func resultIn(v *loop.View, t *session.Take) loop.Result {
	r, ok := v.Result(t.ID, v.Session.Target.Voice)
	if !ok {
		r, _ = v.Result(t.ID, t.Heard[0].Voice)
	}
	return r
}

// openTake shows one voice of a take.
func (w *Window) openTake(t loop.Result) {
	if t.Take.ID == w.showing && t.Voice == w.voice || !w.ready() {
		return
	}
	b := w.bench
	start(w.jobs, i18n.F("Opening %s…", t.Take.File), func(ctx context.Context, progress func(float64)) (seen, error) {
		return prepare(ctx, b, t, progress)
	}, w.arrived)
}

// prepare opens a take's recording and prepares its waveforms. It runs on a job's
// goroutine.
func prepare(ctx context.Context, b *bench.Bench, t loop.Result, progress func(float64)) (seen, error) {
	f, err := b.OpenTake(*t.Take)
	if err != nil {
		return seen{}, err
	}
	waves, err := trace.Load(ctx, f, t.Take.Reference, t.Channel, t.Reading, progress)
	if err != nil {
		f.Close()
		return seen{}, err
	}
	waves.ReferenceHits, waves.VoiceHits = t.Hits(session.ReferenceChannel), t.Hits(session.VoiceChannel)
	return seen{t, f, waves}, nil
}

// arrived shows what a job brought.
func (w *Window) arrived(s seen, err error) {
	if err == nil {
		w.show(&s, s.file)
	}
	w.tell(err)
	w.refresh()
	w.offerStrays()
}

// show puts a take in sight, or none, and lets go of the recording before it.
func (w *Window) show(s *seen, file *take.File) {
	old := w.file
	w.file, w.showing, w.voice = file, 0, ""
	if s == nil {
		w.take.show(nil, nil)
	} else {
		w.showing, w.voice = s.take.Take.ID, s.take.Voice
		w.take.show(&s.take, s.waves)
	}
	if old != nil {
		old.Close()
	}
}

// OpenSession opens a session folder and shows its last take. It may be called
// before the window is shown.
func (w *Window) OpenSession(dir string) {
	if w.jobs.busy() || w.bench != nil && w.bench.Dir() == dir {
		return
	}
	b, err := bench.OpenOrRead(dir)
	if err != nil {
		w.tell(err)
		return
	}
	w.adopt(b)
	w.tell(b.ReadOnly())
	for _, warning := range b.Warnings() {
		w.notice.say(warning.Words(), true)
	}
	if b.ReadOnly() == nil {
		w.strays = b.Strays()
	}
	if takes := b.View().Session.Takes; len(takes) > 0 {
		w.openTake(resultIn(b.View(), &takes[len(takes)-1]))
	}
	w.offerStrays() // else once that take is there
}

// Practice opens a new session with the simulated machine, or the latest one
// that has no take yet and is not open elsewhere.
func (w *Window) Practice() {
	if !w.free() {
		return
	}
	for _, r := range session.Recents() {
		s, err := session.Load(r.Dir)
		if err != nil || s.Machine.PracticeSeed == 0 || len(s.Takes) > 0 {
			continue
		}
		if w.bench != nil && w.bench.Dir() == r.Dir {
			return
		}
		if b, err := bench.Open(r.Dir); err == nil {
			w.adopt(b)
			return
		}
	}
	const firstTempo = 84 // BPM
	w.create(bench.Practice(uint64(len(session.Recents())+1), firstTempo))
}

// create makes a session folder in the usual place and opens it.
func (w *Window) create(s session.Session) {
	b, err := bench.Create(session.FreeDir(w.sessionsIn(), s.Name), s)
	if err != nil {
		w.tell(err)
		return
	}
	w.adopt(b)
}

// adopt makes b the open session.
func (w *Window) adopt(b *bench.Bench) {
	w.notice.clear()
	w.put(b)
	if err := session.Remember(b.Dir()); b.ReadOnly() == nil {
		w.tell(err) // else it has been told why
	}
}

// closeSession goes back to the welcome.
func (w *Window) closeSession() {
	if w.ready() {
		w.notice.clear() // it may offer to undo
		w.put(nil)
	}
}

// dropped opens what was dropped on the window: a folder as a session, anything
// else as a recording.
func (w *Window) dropped(uris []fyne.URI) {
	if len(uris) == 0 || !w.free() {
		return
	}
	w.notice.clear()
	path := uris[0].Path()
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		w.OpenSession(path)
	case strings.EqualFold(filepath.Ext(path), ".zip"):
		w.importZip(path)
	case w.bench == nil:
		w.notice.say(i18n.F("Open or begin a session first, then drop %s again.", filepath.Base(path)), false)
	default:
		w.openRecording(path, false)
	}
	if len(uris) > 1 {
		w.notice.say(i18n.F("Several files were dropped: only %s was looked at, one take at a time.", filepath.Base(path)), false)
	}
}

// openRecording adds a recording with the channels of the last one, or asks
// which is which: where there are more than two, or where it is told to.
func (w *Window) openRecording(path string, ask bool) {
	f, err := take.Open(path)
	if err != nil {
		w.tell(err)
		return
	}
	channels := f.Channels()
	f.Close()
	if channels > 2 || ask && channels > 1 {
		w.askChannels(path, channels)
		return
	}
	w.addRecording(path, w.bench.Channels(channels))
}
