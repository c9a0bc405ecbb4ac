package ui

import (
	"context"
	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/calib/take"
	"lagwright/ui/trace"
	"log/slog"
)

// seen is a take ready to be looked at.
type seen struct {
	take  loop.Result
	file  *take.File
	waves *trace.Take
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
func (p *takePane) openTake(t loop.Result) {
	if t.Take.ID == p.showing && t.Voice == p.voice || !p.d.Ready() {
		return
	}
	b := p.d.Bench
	start(p.d.Jobs, i18n.F("Opening %s…", t.Take.File), func(ctx context.Context, progress func(float64)) (seen, error) {
		return prepare(ctx, b, t, progress)
	}, p.arrived)
}

// prepare opens a take's recording and prepares its waveforms. It runs on a job's
// goroutine.
func prepare(ctx context.Context, b *bench.Bench, t loop.Result, progress func(float64)) (seen, error) {
	f, err := b.OpenTake(*t.Take)
	if err != nil {
		return seen{}, err
	}
	reference, voice := t.Take.Sides(t.Heard) // each half shows the sound its hits were heard in
	waves, err := trace.Load(ctx, f, reference, voice, t.Reading, progress)
	if err != nil {
		f.Close()
		return seen{}, err
	}
	waves.ReferenceHits, waves.VoiceHits = t.Hits(session.ReferenceChannel), t.Hits(session.VoiceChannel)
	return seen{t, f, waves}, nil
}

// arrived shows what a job brought.
func (p *takePane) arrived(s seen, err error) {
	if err == nil {
		p.show(&s)
	}
	p.d.Tell(err)
	p.d.Refresh()
	p.arrival()
}

// show puts a take in sight, or none, and lets go of the recording before it.
func (p *takePane) show(s *seen) {
	old := p.file
	p.file, p.showing, p.voice = nil, 0, ""
	if s == nil {
		p.put(nil, nil)
	} else {
		p.file, p.showing, p.voice = s.file, s.take.Take.ID, s.take.Voice
		p.known = p.d.View()
		p.put(&s.take, s.waves)
	}
	if old != nil {
		old.Close()
	}
}

// inSight returns what the take in sight says of the voice in sight; of another where
// that has a new name by now.
func (p *takePane) inSight() (r loop.Result, ok bool) {
	if p.d.Bench == nil {
		return loop.Result{}, false
	}
	v := p.d.View()
	if r, ok = v.Result(p.showing, p.voice); ok {
		return r, true
	}
	if t := v.Session.Take(p.showing); t != nil {
		return resultIn(v, t), true
	}
	return loop.Result{}, false
}

// logTake notes what became of a take.
func logTake(of loop.Result) {
	r, t := of.Reading, of.Take
	slog.Info("take", "id", t.ID, "outcome", string(of.Outcome), "used", r.Used(), "pairs", len(r.Pairs), "warnings", len(r.Warnings), "voices", len(t.Heard))
}
