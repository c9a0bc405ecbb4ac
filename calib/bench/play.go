package bench

import (
	"context"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/take"
)

// Simulated is how the simulated machine is played and recorded, but for what the
// machine says; tests record at a lower rate.
var Simulated practice.Play

// Play lets the simulated machine play one take at the machine's target and
// setting, and keeps it. progress may be nil; it hears 0 to 1.
func (b *Bench) Play(ctx context.Context, progress func(float64)) (machine.Take, error) {
	if err := b.ReadOnly(); err != nil {
		return machine.Take{}, err
	}
	id, path := b.NewTake()
	recording, on, err := b.Simulate(id, Simulated)
	if err != nil {
		return machine.Take{}, err
	}
	if err := take.Write(ctx, path, recording, part(progress, 0, 0.4)); err != nil {
		return machine.Take{}, err
	}
	return b.Keep(ctx, Recorded{ID: id, Path: path, Origin: machine.Simulated, On: on}, part(progress, 0.4, 1))
}

// Simulate plays the take with an id on the simulated machine, at the machine's target and
// setting, or through the tempos of the sweep that is asked for, and says which channel
// hears what: the target's voice, or every voice. play says the rest. The crank never turns
// twice alike, but for takes of the same id.
func (b *Bench) Simulate(id int, play practice.Play) (rec calib.Recording, on machine.Microphones, err error) {
	m := b.Machine()
	if m.Build.PracticeSeed == 0 {
		return rec, on, i18n.Errorf("%s is a real machine: record it and open the recording", m.Build.Name)
	}
	simulated := practice.Default()
	simulated.Plate = m.Build.Plate
	voices := []string{m.Target.Voice}
	if m.HearsAll() {
		voices = append(voices, slices.DeleteFunc(m.Build.Voices, func(v string) bool { return v == m.Target.Voice })...)
	}
	for i, v := range voices {
		if _, ok := simulated.Voice(v); !ok {
			return rec, on, i18n.Errorf("the simulated machine has no voice called %q: choose one of its own", v)
		}
		on.Voices = append(on.Voices, machine.Microphone{Voice: v, Channel: 2 + i})
	}
	play.Voice, play.Others = voices[0], voices[1:]
	play.TempoBPM, play.Setting, play.PerBeat = m.Target.TempoBPM, m.Setting(), m.Build.PerBeat
	if sweep := b.View().Sweep; !sweep.None() {
		play.TempoBPM, play.Sweep.ToBPM = sweep.FromBPM, sweep.ToBPM
	}
	play.Seed = m.Build.PracticeSeed*1000003 + uint64(id)
	rec, _ = simulated.Play(play)
	on.Reference, on.Channels, on.RateHz = 1, rec.Channels(), int(rec.Rate())
	return rec, on, nil
}
