package ui

import (
	"context"
	"fmt"
	"log/slog"
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/playback"
	"lagwright/calib/session"
	"lagwright/ui/look"
	"lagwright/ui/trace"
)

// liveTake is a take while it is played: what the window shows of it, sampled a few
// times a second. It belongs to Fyne's goroutine.
type liveTake struct {
	take   *live.Take
	voice  session.Target
	waves  *trace.Take   // nil until there is sound
	heardS float64       // of the last reading shown: its last hit
	stop   chan struct{} // ends the sampling
}

// sampleEvery is how often a take under way is looked at: smooth, and far slower
// than the sound comes.
const sampleEvery = 50 * time.Millisecond

// recordTake begins a take that the machine leads.
func (w *Window) recordTake() {
	if w.live != nil || !w.mayChange() {
		return
	}
	if s := w.session(); s.Microphones == nil && s.Machine.PracticeSeed == 0 {
		w.askMicrophones() // first things first
		return
	}
	w.notice.clear()
	w.hush()
	take, err := live.Record(w.bench, w.sound, w.aloud())
	if err != nil {
		if w.spoken != nil {
			w.spoken.StopClick()
		}
		w.tell(err)
		return
	}
	w.show(nil, nil)
	w.live = &liveTake{take: take, voice: w.session().Target, stop: make(chan struct{})}
	w.win.Canvas().Unfocus() // so that space and enter reach the window
	w.take.beginLive(take)
	w.refresh()
	w.look()
	w.sample(w.live)
}

// sample looks at a take under way until it is over, on a goroutine of its own. A
// look that is late is left out, not queued.
func (w *Window) sample(l *liveTake) {
	w.spawn(func() {
		tick := time.NewTicker(sampleEvery)
		defer tick.Stop()
		for {
			select {
			case <-l.stop:
				return
			case <-l.take.Done():
				fyne.Do(func() { w.over(l) })
				return
			case <-tick.C:
				fyne.DoAndWait(w.look)
			}
		}
	})
}

// look brings the window up to the take under way.
func (w *Window) look() {
	l := w.live
	if l == nil {
		return
	}
	m := l.take.Now()
	w.loop.showLive(m, l.voice)
	w.take.showLevels(m)
	if l.waves == nil && m.Sound != nil {
		waves, err := trace.Load(context.Background(), m.Sound, l.take.Reference(), l.take.Voice(), m.Reading, nil)
		if err != nil {
			return // it is over in a moment
		}
		l.waves = waves
		w.take.trace.Follow(waves)
	}
	if l.waves == nil || m.Say.Stop {
		return
	}
	if m.Sound.Extend() == nil {
		w.take.trace.Advance() // what cannot be read any more is over in a moment
	}
	if n := len(m.Reading.ReferenceHitsS); n > 0 && m.Reading.ReferenceHitsS[n-1] != l.heardS {
		l.heardS = m.Reading.ReferenceHitsS[n-1]
		found := session.Heard{Reading: m.Reading}
		w.take.trace.SetReading(m.Reading, found.Hits(session.ReferenceChannel), found.Hits(session.VoiceChannel))
		if m.Reading.Used() >= calib.MinPairs {
			w.take.fan.Set(m.Reading, m.Say.NeedMS, 0)
		}
	}
	for _, t := range m.Say.Troubles {
		w.take.showTrouble(t, l.waves)
	}
}

// over shows what a take came to.
func (w *Window) over(l *liveTake) {
	if w.live != l {
		return
	}
	w.live = nil
	if w.spoken != nil {
		w.spoken.StopClick()
	}
	w.take.endLive()
	w.show(nil, nil)
	t, err := l.take.Kept()
	if fault := l.take.Now().Fault; fault != nil {
		slog.Warn("recording", "fault", fault)
		w.notice.say(fault.Error(), true)
	}
	w.refresh()
	switch {
	case err != nil:
		w.tell(err)
	case t.ID == 0:
		w.notice.say(i18n.L("Nothing struck, so nothing was kept.")+" "+asSentence(l.take.Now().Say.Small), false)
	default:
		r := resultIn(w.view(), &t)
		logTake(r)
		w.openTake(r)
	}
}

// leaveLive ends a take under way and waits until it is kept: its session closes.
func (w *Window) leaveLive() {
	if l := w.live; l != nil {
		close(l.stop)
		l.take.Leave()
		l.take.Kept()
		w.live = nil
		w.take.endLive()
	}
}

// press starts or stops a take, as space, enter and the foot switch do.
func (w *Window) press() {
	switch {
	case w.live != nil:
		w.live.take.Press()
	case w.ready():
		w.recordTake()
	}
}

// typed hears the keys that no part of the window took.
func (w *Window) typed(e *fyne.KeyEvent) {
	if e.Name != fyne.KeyEscape && w.files.typed(w.win.Canvas(), e) {
		return
	}
	switch e.Name {
	case fyne.KeyDown:
		if w.bench == nil {
			w.welcome.toList()
		}
	case fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter:
		w.press()
	case fyne.KeyEscape:
		dismissTop(w.win.Canvas())
	case fyne.KeyF1:
		w.explain()
	}
}

// aloud returns what sounds while a take is played: tones and guide click as far as
// they are wanted and there is something to play them on.
func (w *Window) aloud() live.Aloud {
	var a live.Aloud
	tones, click := w.app.Preferences().BoolWithFallback(prefTones, true), w.app.Preferences().Bool(prefClick)
	if !tones && !click {
		return a
	}
	s, err := w.speaker()
	if err != nil {
		w.notice.say(i18n.F("There are no tones: %s", err), true)
		return a
	}
	if tones {
		a.Ring = s.Ring
	}
	if click {
		a.ClickBPM = w.session().Target.TempoBPM
		s.Click(a.ClickBPM, playback.ClickLevel)
	}
	return a
}

// showLive leads through a take in large letters.
func (p *loopPane) showLive(m live.Moment, target session.Target) {
	say := m.Say
	where := i18n.F("Recording the %s  ·  %.4g BPM  ·  %.0f s", target.Voice, target.TempoBPM, m.RecordedS)
	if m.Gaps > 0 {
		where += "  ·  " + i18n.N(m.Gaps, "%d gap, %.0f ms of sound lost", "%d gaps, %.0f ms of sound lost", m.Gaps, m.LostMS)
	}
	p.where.set(where, theme.ColorNamePlaceHolder)
	colour := theme.ColorNameForeground
	if len(say.Troubles) > 0 || say.Reason == handsfree.CableSpoilt || say.Reason == handsfree.DeviceLost || say.Reason == handsfree.ReferenceLost {
		colour = look.Warn
	}
	p.do.set(say.Big, colour)
	p.why.set(say.Small, theme.ColorNameForeground)
	p.lag.set("", theme.ColorNamePlaceHolder)
	p.side.set(i18n.L("listening for the crank"), theme.ColorNamePlaceHolder)
	p.whose.set("", theme.ColorNameForeground)
	if say.BPM > 0 {
		colour, word := look.Tight, i18n.L("BPM, right")
		switch say.Tempo {
		case handsfree.TempoLow:
			colour, word = look.Warn, i18n.L("BPM, too slow")
		case handsfree.TempoHigh:
			colour, word = look.Warn, i18n.L("BPM, too fast")
		case handsfree.TempoUnknown:
			colour, word = theme.ColorNameForeground, i18n.L("BPM")
		}
		p.lag.set(fmt.Sprintf("%.0f", math.Round(say.BPM)), colour)
		p.side.set(word, colour)
	}
	for _, b := range p.buttons() {
		b.Hide()
	}
	p.stopLive.Show()
	p.understood.Hide()
	p.hint.root.Hide()
	p.all.Hide()
	p.caution.Hide()
	p.found.show(nil)
	p.root.Refresh()
}

func (w *Window) recordWords(practice bool) string {
	if practice {
		return i18n.L("Play a take hands-free")
	}
	return i18n.L("Record a take")
}
