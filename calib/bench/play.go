package bench

import (
	"context"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/take"
)

// Simulated is how the simulated machine is played and recorded, but for what the
// machine says; tests record at a lower rate.
var Simulated practice.Play

// Play lets the simulated machine play one take at the machine's target and
// setting, and keeps it. progress may be nil; it hears 0 to 1.
func (b *Bench) Play(ctx context.Context, progress func(float64)) (session.Take, error) {
	if err := b.ReadOnly(); err != nil {
		return session.Take{}, err
	}
	id, path := b.folder.NewTake()
	recording, on, err := b.Simulate(id, Simulated)
	if err != nil {
		return session.Take{}, err
	}
	if err := take.Write(ctx, path, recording, part(progress, 0, 0.4)); err != nil {
		return session.Take{}, err
	}
	return b.Keep(ctx, Recorded{ID: id, Path: path, Origin: session.Simulated, On: on}, part(progress, 0.4, 1))
}

// Simulate plays the take with an id on the simulated machine, at the machine's target and
// setting, or through the tempos of the sweep that is asked for, and says which channel
// hears what: the target's voice, or every voice. play says the rest. The crank never turns
// twice alike, but for takes of the same id.
func (b *Bench) Simulate(id int, play practice.Play) (rec calib.Recording, on session.Microphones, err error) {
	s := b.Session()
	if s.Machine.PracticeSeed == 0 {
		return rec, on, i18n.Errorf("%s is a real machine: record it and open the recording", s.Machine.Name)
	}
	machine := practice.Default()
	machine.Plate = s.Machine.Plate
	voices := []string{s.Target.Voice}
	if s.HearsAll() {
		voices = append(voices, slices.DeleteFunc(s.Machine.Voices, func(v string) bool { return v == s.Target.Voice })...)
	}
	for i, v := range voices {
		if _, ok := machine.Voice(v); !ok {
			return rec, on, i18n.Errorf("the simulated machine has no voice called %q: choose one of its own", v)
		}
		on.Voices = append(on.Voices, session.Microphone{Voice: v, Channel: 2 + i})
	}
	play.Voice, play.Others = voices[0], voices[1:]
	play.TempoBPM, play.Setting, play.PerBeat = s.Target.TempoBPM, s.Setting(), s.Machine.PerBeat
	if sweep := b.View().Sweep; !sweep.None() {
		play.TempoBPM, play.Sweep.ToBPM = sweep.FromBPM, sweep.ToBPM
	}
	play.Seed = s.Machine.PracticeSeed*1000003 + uint64(id)
	rec, _ = machine.Play(play)
	on.Reference, on.Channels, on.RateHz = 1, rec.Channels(), int(rec.Rate())
	return rec, on, nil
}
