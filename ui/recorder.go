package ui

import (
	"context"
	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/session"
	"lagwright/calib/take"
	"path/filepath"

	"fyne.io/fyne/v2"
)

// recorder is how takes come: recorded from the microphones, read from a file, or
// played by the simulated machine.
type recorder struct {
	d         *Desk
	takes     *takePane
	listening *listenBar

	microphones func()                            // asks for them
	large       func(live.Moment, session.Target) // leads through a take in large letters

	live   *liveTake // the take that is played; nil = none
	all    bool      // the simulated machine plays with a microphone on every voice
	strays []string  // recordings without a take that are still to be offered
}

// newRecorder shows takes in a pane; microphones asks for them, large leads through a take
// that is played.
func newRecorder(d *Desk, takes *takePane, listening *listenBar, microphones func(), large func(live.Moment, session.Target)) *recorder {
	return &recorder{d: d, takes: takes, listening: listening, microphones: microphones, large: large}
}

// begin goes on with a session that was opened: with its last take, and with what was
// left over.
func (p *recorder) begin() {
	if p.d.Bench.ReadOnly() == nil {
		p.strays = p.d.Bench.Strays()
	}
	if takes := p.d.Session().Takes; len(takes) > 0 {
		p.takes.openTake(resultIn(p.d.View(), &takes[len(takes)-1]))
	}
	p.offerStrays() // else once that take is there
}

// playTake lets the simulated machine play.
func (p *recorder) playTake() {
	if !p.d.Ready() {
		return
	}
	all := p.all
	p.measure(i18n.L("Playing…"), func(ctx context.Context, b *bench.Bench, progress func(float64)) (session.Take, error) {
		if all {
			return b.PlayAll(ctx, progress)
		}
		return b.Play(ctx, progress)
	})
}

// playAll chooses whether the simulated machine plays with a microphone on every
// voice, or on the one aimed at.
func (p *recorder) playAll(all bool) {
	if p.all != all {
		p.all = all
		p.d.Refresh()
	}
}

// addRecording copies a recording into the session and measures it.
func (p *recorder) addRecording(path string, ch bench.Channels) {
	p.measure(i18n.F("Measuring %s…", filepath.Base(path)), func(ctx context.Context, b *bench.Bench, progress func(float64)) (session.Take, error) {
		return b.Add(ctx, path, ch, progress)
	})
}

// measure runs a job that ends in a new take and shows it.
func (p *recorder) measure(name string, job func(context.Context, *bench.Bench, func(float64)) (session.Take, error)) {
	b := p.d.Bench
	p.d.Notice.clear()
	start(p.d.Jobs, name, func(ctx context.Context, progress func(float64)) (seen, error) {
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
	}, p.takes.arrived)
}

// openRecording adds a recording with the channels of the last one, or asks
// which is which: where there are more than two, or where it is told to.
func (p *recorder) openRecording(path string, ask bool) {
	f, err := take.Open(path)
	if err != nil {
		p.d.Tell(err)
		return
	}
	channels := f.Channels()
	f.Close()
	if channels > 2 || ask && channels > 1 {
		p.askChannels(path, channels)
		return
	}
	p.addRecording(path, p.d.Bench.Channels(channels))
}

func (p *recorder) chooseWAV(askChannels bool) {
	if !p.d.MayChange() {
		return
	}
	p.d.ChooseFile(p.d.Prefs.String(prefRecordings), []string{".wav", ".WAV", ".wave", ".bwf", ".rf64"}, func(path string) {
		p.d.Prefs.SetString(prefRecordings, filepath.Dir(path))
		p.openRecording(path, askChannels)
	})
}

// offerStrays offers recordings that lie in the folder without a take, as a crash
// leaves them, one after the other: the next one once the one before is a take.
func (p *recorder) offerStrays() {
	if len(p.strays) == 0 || !p.d.Ready() {
		return
	}
	path := p.strays[0]
	p.strays = p.strays[1:]
	title, words := strayWords(path)
	p.d.Confirm(title, words+"\n"+i18n.L("Measure it now, at the setting and tempo the session stands at?"), i18n.L("Measure"), i18n.L("Not now"),
		func() { p.openRecording(path, false) }, p.offerStrays)
}

// strayWords says what lies in the folder.
func strayWords(path string) (title, words string) {
	name := filepath.Base(path)
	if f, err := take.Open(path); err == nil && bench.Unfinished(path) {
		defer f.Close()
		return i18n.L("A take was not finished"), i18n.F("Lagwright ended while %s was recorded; %.0f s of it are there.", name, f.DurationS())
	}
	return i18n.L("A recording was left over"), i18n.F("%s lies in this session without a take.", name)
}

// chooseRecording asks for a WAV file and adds it.
func (p *recorder) chooseRecording() { p.chooseWAV(false) }

// chooseChannels asks for a WAV file and which of its channels is which.
func (p *recorder) chooseChannels() { p.chooseWAV(true) }

// commands are those by which takes come.
func (p *recorder) commands(ready bool) []*fyne.MenuItem {
	m := p.d.Session().Machine
	practice := m.PracticeSeed != 0
	return append([]*fyne.MenuItem{
		Entry(i18n.L("Play a take"), Ctrl(fyne.KeyP), ready && practice, p.playTake),
		Checked(i18n.L("Microphones on all voices"), ready && practice && len(m.Voices) > 1, p.all, func() { p.playAll(!p.all) }),
		Entry(recordWords(practice), Ctrl(fyne.KeyR), ready, p.recordTake),
		Entry(i18n.L("Stop"), CtrlShift(fyne.KeyR), p.live != nil, p.press),
	}, Apart(
		Entry(i18n.L("Open a recording…"), Ctrl(fyne.KeyO), ready, p.chooseRecording),
		Entry(i18n.L("Open a recording, choose channels…"), nil, ready, p.chooseChannels),
	)...)
}
