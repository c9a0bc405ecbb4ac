package record

import (
	"log/slog"
	"time"

	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/machine"
	"lagwright/calib/playback"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
	"lagwright/ui/takes"
)

// liveTake is a take while it is played: what the window shows of it, sampled a few
// times a second. It belongs to Fyne's goroutine.
type liveTake struct {
	Take   *live.Take
	target machine.Target
}

// sampleEvery is how often a take under way is looked at: smooth, and far slower
// than the sound comes.
const sampleEvery = 50 * time.Millisecond

// RecordTake begins a take that the machine leads.
func (p *Recorder) RecordTake() {
	if p.d.Deaf || !p.d.MayChange() {
		return
	}
	if m := p.d.Machine(); m.Microphones == nil && m.Build.PracticeSeed == 0 {
		p.acts.Microphones() // first things first
		return
	}
	p.d.Follow()
	p.d.Notice.Clear()
	p.listening.Hush()
	p.acts.ToTakes()
	take, err := live.Record(p.d.Bench, p.d.Sound, p.aloud())
	if err != nil {
		p.listening.StopClick()
		p.d.Tell(err)
		return
	}
	p.d.Playing = true
	p.Live = &liveTake{Take: take, target: p.d.Machine().Target}
	p.d.Win.Canvas().Unfocus() // so that space and enter reach the window
	p.takes.BeginLive(take)
	p.d.Refresh()
	p.Look()
	l := p.Live
	p.d.Jobs.Watch(sampleEvery, func() bool { return p.goesOn(l) })
}

// deafFor is how long after a take that ended by itself no press counts: about as long as
// a foot needs that was on its way to stop it.
const deafFor = 1500 * time.Millisecond

// deafen has the loop hear no press for a moment.
func (p *Recorder) deafen() {
	p.d.Deaf = true
	p.d.Later(deafFor, func() {
		p.d.Deaf = false
		p.d.Refresh()
	})
}

// goesOn looks at a take under way, and reports whether it still is.
func (p *Recorder) goesOn(l *liveTake) bool {
	select {
	case <-l.Take.Done():
		p.over(l)
	default:
		p.Look()
	}
	return p.Live == l
}

// Look brings the window up to the take under way.
func (p *Recorder) Look() {
	l := p.Live
	if l == nil {
		return
	}
	m := l.Take.Now()
	p.acts.Large(m, l.target)
	p.takes.ShowLive(l.Take, m)
}

// over shows what a take came to.
func (p *Recorder) over(l *liveTake) {
	if p.Live != l {
		return
	}
	p.clear()
	if l.Take.Now().Say.Reason != handsfree.ByHand {
		p.deafen()
	}
	t, err := l.Take.Kept()
	if fault := l.Take.Now().Fault; fault != nil {
		slog.Warn("recording", "fault", fault)
		p.d.Notice.Say(fault.Error(), true)
	}
	p.d.Refresh()
	switch {
	case err != nil:
		p.d.Tell(err)
	case t.ID == 0:
		p.d.Notice.Say(i18n.L("No strike was heard, so nothing was kept.")+" "+kit.AsSentence(l.Take.Now().Say.Small), false)
	default:
		r := takes.ResultIn(p.d.View(), &t)
		takes.LogTake(r)
		p.takes.OpenTake(r)
	}
}

// Leave ends a take under way and waits until it is kept, and forgets what was left
// over: the machine closes.
func (p *Recorder) Leave() {
	p.strays = nil
	if l := p.Live; l != nil {
		l.Take.Leave()
		l.Take.Kept()
		p.clear()
	}
}

// clear takes away what was there for a take under way, its guide click too.
func (p *Recorder) clear() {
	p.Live, p.d.Playing = nil, false
	p.listening.StopClick()
	p.takes.EndLive()
}

// Press starts or stops a take, as space, enter and the foot switch do.
func (p *Recorder) Press() {
	switch {
	case p.Live != nil:
		p.Live.Take.Press()
	case p.d.Ready():
		p.RecordTake()
	}
}

// aloud returns what sounds while a take is played: tones and guide click as far as
// they are wanted and there is something to play them on.
func (p *Recorder) aloud() live.Aloud {
	var a live.Aloud
	tones, click := p.d.Prefs.Tones(), p.d.Prefs.Bool(prefs.KeyClick)
	if !tones && !click {
		return a
	}
	s, err := p.listening.Speaker()
	if err != nil {
		if !p.toldNoTones {
			p.d.Notice.Say(i18n.L("This take is recorded without tones.")+" "+kit.AsSentence(err.Error()), true)
			p.toldNoTones = true
		}
		return a
	}
	if tones {
		a.Ring = s.Ring
	}
	if click {
		a.ClickBPM = p.d.Machine().Target.TempoBPM
		s.Click(a.ClickBPM, playback.ClickLevel)
	}
	return a
}
