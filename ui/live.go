package ui

import (
	"log/slog"
	"time"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/playback"
	"lagwright/calib/session"
)

// liveTake is a take while it is played: what the window shows of it, sampled a few
// times a second. It belongs to Fyne's goroutine.
type liveTake struct {
	take   *live.Take
	target session.Target
	stop   chan struct{} // ends the sampling
}

// sampleEvery is how often a take under way is looked at: smooth, and far slower
// than the sound comes.
const sampleEvery = 50 * time.Millisecond

// recordTake begins a take that the machine leads.
func (p *recorder) recordTake() {
	if !p.d.MayChange() {
		return
	}
	if s := p.d.Session(); s.Microphones == nil && s.Machine.PracticeSeed == 0 {
		p.microphones() // first things first
		return
	}
	p.d.Notice.clear()
	p.listening.hush()
	take, err := live.Record(p.d.Bench, p.d.Sound, p.aloud())
	if err != nil {
		p.listening.stopClick()
		p.d.Tell(err)
		return
	}
	p.d.Playing = true
	p.live = &liveTake{take: take, target: p.d.Session().Target, stop: make(chan struct{})}
	p.d.Win.Canvas().Unfocus() // so that space and enter reach the window
	p.takes.beginLive(take)
	p.d.Refresh()
	p.look()
	p.sample(p.live)
}

// sample looks at a take under way until it is over, on a goroutine of its own. A
// look that is late is left out, not queued.
func (p *recorder) sample(l *liveTake) {
	p.d.Jobs.spawn(func() {
		tick := time.NewTicker(sampleEvery)
		defer tick.Stop()
		for {
			select {
			case <-l.stop:
				return
			case <-l.take.Done():
				fyne.Do(func() { p.over(l) })
				return
			case <-tick.C:
				fyne.DoAndWait(p.look)
			}
		}
	})
}

// look brings the window up to the take under way.
func (p *recorder) look() {
	l := p.live
	if l == nil {
		return
	}
	m := l.take.Now()
	p.large(m, l.target)
	p.takes.showLive(l.take, m)
}

// over shows what a take came to.
func (p *recorder) over(l *liveTake) {
	if p.live != l {
		return
	}
	p.live, p.d.Playing = nil, false
	p.listening.stopClick()
	p.takes.endLive()
	t, err := l.take.Kept()
	if fault := l.take.Now().Fault; fault != nil {
		slog.Warn("recording", "fault", fault)
		p.d.Notice.say(fault.Error(), true)
	}
	p.d.Refresh()
	switch {
	case err != nil:
		p.d.Tell(err)
	case t.ID == 0:
		p.d.Notice.say(i18n.L("Nothing struck, so nothing was kept.")+" "+asSentence(l.take.Now().Say.Small), false)
	default:
		r := resultIn(p.d.View(), &t)
		logTake(r)
		p.takes.openTake(r)
	}
}

// leave ends a take under way and waits until it is kept, and forgets what was left
// over: the session closes.
func (p *recorder) leave() {
	p.strays = nil
	if l := p.live; l != nil {
		close(l.stop)
		l.take.Leave()
		l.take.Kept()
		p.live, p.d.Playing = nil, false
		p.takes.endLive()
	}
}

// press starts or stops a take, as space, enter and the foot switch do.
func (p *recorder) press() {
	switch {
	case p.live != nil:
		p.live.take.Press()
	case p.d.Ready():
		p.recordTake()
	}
}

// aloud returns what sounds while a take is played: tones and guide click as far as
// they are wanted and there is something to play them on.
func (p *recorder) aloud() live.Aloud {
	var a live.Aloud
	tones, click := p.d.Prefs.Tones(), p.d.Prefs.Click()
	if !tones && !click {
		return a
	}
	s, err := p.listening.speaker()
	if err != nil {
		p.d.Notice.say(i18n.F("There are no tones: %s", err), true)
		return a
	}
	if tones {
		a.Ring = s.Ring
	}
	if click {
		a.ClickBPM = p.d.Session().Target.TempoBPM
		s.Click(a.ClickBPM, playback.ClickLevel)
	}
	return a
}

func recordWords(practice bool) string {
	if practice {
		return i18n.L("Play a take hands-free")
	}
	return i18n.L("Record a take")
}
