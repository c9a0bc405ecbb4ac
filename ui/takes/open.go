package takes

import (
	"context"
	"log/slog"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/take"
	"lagwright/ui/kit"
	"lagwright/ui/trace"
)

// Seen is a take ready to be looked at.
type Seen struct {
	take  loop.Result
	file  *take.File
	waves *trace.Take
}

// InShort is an error as part of a sentence, or that the person cancelled. It goes to
// %s, not to %w, so that the sentence is not taken for either by those who look for
// the cause.
func InShort(err error) error {
	if kit.Cancelled(err) {
		return i18n.Errorf("cancelled")
	}
	return err
}

// ResultIn returns what a take says of the voice that the loop aims at, or of its first.
func ResultIn(v *loop.View, t *machine.Take) loop.Result {
	r, ok := v.Result(t.ID, v.Machine.Target.Voice)
	if !ok {
		r, _ = v.Result(t.ID, t.Heard[0].Voice)
	}
	return r
}

// OpenTake shows one voice of a take.
func (p *Pane) OpenTake(t loop.Result) {
	if t.Take.ID == p.Showing && t.Voice == p.Voice || !p.d.Ready() {
		return
	}
	p.open(t)
}

func (p *Pane) open(t loop.Result) {
	b := p.d.Bench
	kit.Start(p.d.Jobs, i18n.F("Opening %s…", t.Take.File), func(ctx context.Context, progress func(float64)) (Seen, error) {
		return Prepare(ctx, b, t, progress)
	}, p.Arrived)
}

// channelsOf are the reference's and the voice's in a take's recording.
func channelsOf(t loop.Result) [2]int { return [2]int{t.Take.Reference, t.Channel} }

// Prepare opens a take's recording and prepares its waveforms. It runs on a job's
// goroutine.
func Prepare(ctx context.Context, b *bench.Bench, t loop.Result, progress func(float64)) (Seen, error) {
	f, err := b.OpenTake(*t.Take)
	if err != nil {
		return Seen{}, err
	}
	waves, err := trace.Load(ctx, f, t.Take.Reference, t.Channel, t.Reading, progress)
	if err != nil {
		f.Close()
		return Seen{}, err
	}
	waves.ReferenceHits, waves.VoiceHits = t.Hits(machine.ReferenceChannel), t.Hits(machine.VoiceChannel)
	return Seen{t, f, waves}, nil
}

// Arrived shows what a job brought.
func (p *Pane) Arrived(s Seen, err error) {
	if err == nil {
		p.sight(&s)
	}
	p.d.Tell(err)
	p.d.Refresh()
	p.arrival()
}

// Clear puts no take in sight.
func (p *Pane) Clear() { p.sight(nil) }

// sight puts a take in sight, or none, and lets go of the recording before it.
func (p *Pane) sight(s *Seen) {
	old := p.file
	p.file, p.Showing, p.Voice = nil, 0, ""
	if s == nil {
		p.put(nil, nil)
	} else {
		p.file, p.Showing, p.Voice = s.file, s.take.Take.ID, s.take.Voice
		p.drawn, p.known = channelsOf(s.take), p.d.View()
		p.put(&s.take, s.waves)
	}
	if old != nil {
		old.Close()
	}
}

// InSight returns what the take in sight says of the voice in sight; of another where
// that has a new name by now.
func (p *Pane) InSight() (r loop.Result, ok bool) {
	if p.d.Bench == nil {
		return loop.Result{}, false
	}
	v := p.d.View()
	if r, ok = v.Result(p.Showing, p.Voice); ok {
		return r, true
	}
	if t := v.Machine.Take(p.Showing); t != nil {
		return ResultIn(v, t), true
	}
	return loop.Result{}, false
}

// LogTake notes what became of a take.
func LogTake(of loop.Result) {
	r, t := of.Reading, of.Take
	slog.Info("take", "id", t.ID, "outcome", string(of.Outcome), "used", r.Used(), "pairs", len(r.Pairs), "warnings", len(r.Warnings), "voices", len(t.Heard))
}
