package bench

import (
	"context"
	"slices"

	"lagwright/calib/i18n"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/take"
)

// Play lets the simulated machine play one take at the session's target and
// setting, and keeps it. progress may be nil; it hears 0 to 1.
func (b *Bench) Play(ctx context.Context, progress func(float64)) (session.Take, error) {
	return b.play(ctx, nil, progress)
}

// PlayAll is Play with a microphone on every voice of the simulated machine.
func (b *Bench) PlayAll(ctx context.Context, progress func(float64)) (session.Take, error) {
	s := b.Session()
	return b.play(ctx, slices.DeleteFunc(s.Machine.Voices, func(v string) bool { return v == s.Target.Voice }), progress)
}

// Simulated is how the simulated machine is played and recorded, but for what the
// session says; tests record at a lower rate.
var Simulated practice.Play

// play plays the target's voice and others.
func (b *Bench) play(ctx context.Context, others []string, progress func(float64)) (session.Take, error) {
	if err := b.ReadOnly(); err != nil {
		return session.Take{}, err
	}
	s := b.Session()
	if s.Machine.PracticeSeed == 0 {
		return session.Take{}, i18n.Errorf("%s is a real machine: record it and open the recording", s.Machine.Name)
	}
	machine := practice.Default()
	machine.Plate = s.Machine.Plate
	on := session.Microphones{Reference: 1}
	for i, v := range append([]string{s.Target.Voice}, others...) {
		if _, ok := machine.Voice(v); !ok {
			return session.Take{}, i18n.Errorf("the simulated machine has no voice called %q: choose one of its own", v)
		}
		on.Voices = append(on.Voices, session.Microphone{Voice: v, Channel: 2 + i})
	}
	id, path := b.folder.NewTake()
	play := Simulated
	play.Voice, play.Others = s.Target.Voice, others
	play.TempoBPM, play.Setting, play.PerBeat = s.Target.TempoBPM, s.Setting(), s.Machine.PerBeat
	if sweep := b.View().Sweep; !sweep.None() {
		play.TempoBPM, play.Sweep.ToBPM = sweep.FromBPM, sweep.ToBPM
	}
	play.Seed = SeedOf(s, id)
	recording, _ := machine.Play(play)
	if err := take.Write(ctx, path, recording, part(progress, 0, 0.4)); err != nil {
		return session.Take{}, err
	}
	on.Channels = recording.Channels()
	return b.Keep(ctx, Recorded{ID: id, Path: path, Origin: session.Simulated, On: on}, part(progress, 0.4, 1))
}

// SeedOf returns the simulated machine's luck in a take: the crank never turns twice
// alike.
func SeedOf(s session.Session, id int) uint64 { return s.Machine.PracticeSeed*1000003 + uint64(id) }
