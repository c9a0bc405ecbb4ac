// Package record is how takes come: recorded from microphones, read from a file, or
// played by the simulated machine.
package record

import (
	"context"
	"path/filepath"

	"fyne.io/fyne/v2"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/machine"
	"lagwright/calib/take"
	"lagwright/ui/choose"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/listen"
	"lagwright/ui/prefs"
	"lagwright/ui/takes"
)

// Recorder is how takes come: recorded from the microphones, read from a file, or
// played by the simulated machine.
type Recorder struct {
	d         *desk.Desk
	takes     *takes.Pane
	listening *listen.Bar

	acts Acts

	Live        *liveTake // the take that is played; nil = none
	toldNoTones bool      // that there is nothing to play them on

	strays []string // recordings without a take that are still to be offered
}

// Acts are what others do for a take.
type Acts struct {
	Microphones func()                            // asks for them
	Large       func(live.Moment, machine.Target) // leads through a take that is played
	BeforeTake  func(do func())                   // asks what became of a move that was not entered, then does what begins a take
	ToTakes     func()                            // shows the takes' zone
}

// New shows takes in a pane.
func New(d *desk.Desk, takes *takes.Pane, listening *listen.Bar, acts Acts) *Recorder {
	return &Recorder{d: d, takes: takes, listening: listening, acts: acts}
}

// Begin goes on with a machine that was opened: with its last take, and with what was
// left over.
func (p *Recorder) Begin() {
	if p.d.Bench.ReadOnly() == nil {
		p.strays = p.d.Bench.Strays()
	}
	p.ShowLast()
	p.OfferStrays() // else once that take is there
}

// ShowLast puts the last take in sight.
func (p *Recorder) ShowLast() {
	all := p.d.Machine().Takes
	if len(all) == 0 {
		p.takes.Clear()
		return
	}
	p.takes.OpenTake(takes.ResultIn(p.d.View(), &all[len(all)-1]))
}

// Play begins a take: of the simulated machine at once, of one's own from the microphones.
func (p *Recorder) Play() {
	if p.d.Machine().Build.PracticeSeed != 0 {
		p.PlayTake()
		return
	}
	p.RecordTake()
}

// PlayTake lets the simulated machine play.
func (p *Recorder) PlayTake() {
	if !p.d.Ready() {
		return
	}
	p.d.Follow()
	p.Measure(i18n.L("Playing…"), func(ctx context.Context, b *bench.Bench, progress func(float64)) (machine.Take, error) {
		return b.Play(ctx, progress)
	})
}

// HearAll puts microphones on every voice of the simulated machine, or on the one that the
// loop aims at.
func (p *Recorder) HearAll(all bool) {
	if p.d.MayChange() {
		p.d.Do("", p.d.Bench.HearAll(all))
	}
}

// AddRecording copies a recording into the machine and measures it.
func (p *Recorder) AddRecording(path string, ch machine.Microphones) {
	p.Measure(i18n.F("Measuring %s…", filepath.Base(path)), func(ctx context.Context, b *bench.Bench, progress func(float64)) (machine.Take, error) {
		return b.Add(ctx, path, ch, progress)
	})
}

// Measure runs a job that ends in a new take and shows it.
func (p *Recorder) Measure(name string, job func(context.Context, *bench.Bench, func(float64)) (machine.Take, error)) {
	b := p.d.Bench
	p.d.Notice.Clear()
	kit.Start(p.d.Jobs, name, func(ctx context.Context, progress func(float64)) (takes.Seen, error) {
		t, err := job(ctx, b, func(x float64) { progress(0.8 * x) })
		if err != nil {
			return takes.Seen{}, err
		}
		r := takes.ResultIn(b.View(), &t)
		takes.LogTake(r)
		s, err := takes.Prepare(ctx, b, r, func(x float64) { progress(0.8 + 0.2*x) })
		if err != nil {
			return takes.Seen{}, i18n.Errorf("take %d was measured and kept, but its waveforms were not drawn (%s): choose it in the list of takes to see them", t.ID, takes.InShort(err))
		}
		return s, nil
	}, p.takes.Arrived)
}

// OpenRecording adds a recording with the channels of the last one, or asks
// which is which: where there are more than two, or where it is told to.
func (p *Recorder) OpenRecording(path string, ask bool) {
	name := filepath.Base(path)
	desk.Start(p.d, i18n.F("Opening %s…", name), func(context.Context, func(float64)) (int, error) { // a FLAC file is unpacked whole
		f, err := take.OpenAs(path, name)
		if err != nil {
			return 0, err
		}
		defer f.Close()
		return f.Channels(), nil
	}, func(channels int) {
		if channels > 2 || ask && channels > 1 {
			p.AskChannels(path, channels)
			return
		}
		p.AddRecording(path, p.d.Bench.Channels(channels))
	})
}

// recordings are the endings of what people record. Those of phones are shown too:
// opening one says what to do about it.
var recordings = []string{".wav", ".WAV", ".wave", ".bwf", ".rf64", ".flac", ".FLAC", ".m4a", ".M4A", ".mp3", ".MP3", ".aac", ".ogg", ".opus", ".amr", ".3gp", ".webm"}

func (p *Recorder) choose(askChannels bool) {
	if !p.d.MayChange() {
		return
	}
	choose.File(p.d.Frame, p.d.Prefs.String(prefs.KeyRecordings), recordings, func(path string) {
		p.d.Follow()
		p.d.Prefs.SetString(prefs.KeyRecordings, filepath.Dir(path))
		p.OpenRecording(path, askChannels)
	})
}

// OfferStrays offers recordings that lie in the folder without a take, as a crash
// leaves them: the next one once the one before is a take, until one is not wanted.
func (p *Recorder) OfferStrays() {
	if len(p.strays) == 0 || !p.d.Ready() {
		return
	}
	path := p.strays[0]
	p.strays = p.strays[1:]
	title, words := strayWords(path)
	words += "\n" + i18n.L("Measure it now, with the plate setting and the tempo shown?")
	if n := len(p.strays); n > 0 {
		words += "\n" + i18n.N(n, "%d more recording lies there.", "%d more recordings lie there.", n)
	}
	// By the setting shown it is judged, whatever stood then: nothing is measured by the bright button.
	p.d.Ask(title, words, 0, kit.Answer{Words: i18n.L("Not now"), Do: func() { p.strays = nil }}, kit.Answer{Words: i18n.L("Measure"), Do: func() { p.OpenRecording(path, false) }})
}

// strayWords says what lies in the folder.
func strayWords(path string) (title, words string) {
	name := filepath.Base(path)
	if f, err := take.Open(path); err == nil {
		defer f.Close()
		if bench.Unfinished(path) {
			return i18n.L("A take was not finished"), i18n.F("Lagwright stopped while %s was being recorded; %.0f s of it were saved.", name, f.DurationS())
		}
	}
	return i18n.L("A recording was left over"), i18n.F("%s is in this machine's folder, but is no take.", name)
}

// ChooseRecording asks for a recording and adds it.
func (p *Recorder) ChooseRecording() { p.choose(false) }

// ChooseChannels asks for a recording and which of its channels is which.
func (p *Recorder) ChooseChannels() { p.choose(true) }

// Commands are those by which takes come.
func (p *Recorder) Commands(ready bool) []*fyne.MenuItem {
	m := p.d.Machine()
	practice, all := m.Build.PracticeSeed != 0, m.HearsAll()
	entries := []*fyne.MenuItem{kit.Entry(i18n.L("Play a take"), kit.Ctrl(fyne.KeyP), ready, func() { p.acts.BeforeTake(p.Play) })}
	if practice { // one's own is always played so
		entries = append(entries,
			kit.Entry(i18n.L("Play a take hands-free"), kit.Ctrl(fyne.KeyR), ready, func() { p.acts.BeforeTake(p.RecordTake) }),
			kit.Checked(i18n.L("Microphones on all voices"), ready && len(m.Build.Voices) > 1, all, func() { p.HearAll(!all) }))
	}
	entries = append(entries, kit.Entry(i18n.L("Stop"), kit.CtrlShift(fyne.KeyR), p.Live != nil, p.Press))
	return append(entries, kit.Apart(
		kit.Entry(i18n.L("Open a recording…"), kit.Ctrl(fyne.KeyO), ready, p.ChooseRecording),
		kit.Entry(i18n.L("Open a recording, choose channels…"), nil, ready, p.ChooseChannels),
	)...)
}
