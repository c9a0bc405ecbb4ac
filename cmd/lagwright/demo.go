package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting"
)

// demoTempos are the tempos at which the demo tunes one after the other, in BPM; demoSongs
// are those of a set list that it learns by a sweep.
var (
	demoTempos = []float64{72, 96, 120}
	demoSongs  = []float64{62, 66, 72, 76, 84, 88, 96, 103, 108, 116, 124, 132}
)

// demoMost is how many takes the demo gives each tempo, or a set list, before it gives up.
const demoMost = 6

func demo(ctx context.Context, l line, out io.Writer) error {
	dir := flagValue[string](l, "out")
	if dir == "" {
		dir = machine.FreeDir(machine.DefaultRoot(), "Demo")
	}
	b, err := bench.Create(dir, bench.Practice(flagValue[uint64](l, "seed"), demoTempos[0]))
	if err != nil {
		return err
	}
	defer b.Close()
	m := b.Machine()
	fmt.Fprintf(out, "The simulated machine %s, voice %s, %.4g steps a beat.\n", m.Build.Name, m.Target.Voice, 1/m.Build.Plate.StepBeats())
	tempos := demoTempos
	if flagValue[bool](l, "sweep") {
		tempos = demoSongs
		err = learn(ctx, b, out)
	} else {
		for _, tempo := range demoTempos {
			fmt.Fprintf(out, "\n%.4g BPM\n", tempo)
			at := machine.Target{TempoBPM: tempo, Voice: m.Target.Voice}
			err = cmp.Or(err, follow(ctx, b, out, func(v *loop.View) (machine.Target, bool) { return at, v.Machine.Target == at && v.Stage == loop.Tight }))
		}
	}
	return cmp.Or(err, demoFigures(b, out, tempos))
}

// learn plays what the set list asks for, a sweep first.
func learn(ctx context.Context, b *bench.Bench, out io.Writer) error {
	voice := b.Machine().Target.Voice
	err := b.EditSongs(func([]machine.Song) (songs []machine.Song, _ error) {
		for _, tempo := range demoSongs {
			songs = append(songs, machine.Song{Name: fmt.Sprintf("Song at %g", tempo), TempoBPM: tempo, Voices: []string{voice}})
		}
		return songs, nil
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\n%d songs from %g to %g BPM\n", len(demoSongs), demoSongs[0], demoSongs[len(demoSongs)-1])
	return follow(ctx, b, out, func(v *loop.View) (machine.Target, bool) {
		if v.Next == nil {
			return v.Machine.Target, true
		}
		return v.Next.Target, false
	})
}

// follow does what the loop says, take by take, until next has nothing left to aim at.
func follow(ctx context.Context, b *bench.Bench, out io.Writer, next func(*loop.View) (at machine.Target, done bool)) error {
	for takes := 0; ; {
		target, done := next(b.View())
		if done {
			return nil
		}
		if target != b.Machine().Target {
			if err := b.Aim(target); err != nil {
				return err
			}
		}
		at := b.View()
		switch at.Stage {
		case loop.AwaitMove:
			fmt.Fprintf(out, "  the simulated machine's plate goes from %s to %s\n", calib.SettingWords(at.Setting), calib.SettingWords(at.Setting+at.Steps))
			if err := b.Moved(at.Steps, ""); err != nil {
				return err
			}
		case loop.AwaitTake, loop.Foretold:
			if takes++; takes > demoMost {
				return fmt.Errorf("the voice is not tight at %.4g BPM after %d takes: try another -seed", target.TempoBPM, demoMost)
			}
			t, err := b.Play(ctx, nil)
			if err != nil {
				return err
			}
			r, _ := b.View().Result(t.ID, t.Target.Voice)
			if law := r.Reading.Law; law.Determined() {
				fmt.Fprintf(out, "  take %d at %s: swept from %.0f to %.0f BPM, %d pairs: the %s is late by %.1f ms (± %.1f) and %+.3f beats (± %.3f)\n", t.ID, calib.SettingWords(r.Setting),
					law.FromBPM, law.ToBPM, r.Reading.Used(), t.Target.Voice, law.DelayMS, law.Coverage()*math.Sqrt(law.Cov[0][0]), law.OffsetBeats, law.Coverage()*math.Sqrt(law.Cov[1][1]))
				continue
			}
			fmt.Fprintf(out, "  take %d at %s: %s (± %.1f) at %.4g BPM, played at %.1f, jitter %.1f ms, %d pairs: %s\n", t.ID, calib.SettingWords(r.Setting),
				calib.LateEarly(r.LagMS), r.HalfMS, target.TempoBPM, r.Reading.TempoBPM, r.Reading.JitterMS, r.Reading.Used(), r.Outcome)
		default:
			return fmt.Errorf("another take is asked for at %.4g BPM, where the voice is tight: try another -seed", target.TempoBPM)
		}
	}
}

// demoFigures draws the machine and lists its settings at the tempos, of which every one has
// to be tight.
func demoFigures(b *bench.Bench, out io.Writer, tempos []float64) error {
	v := b.View()
	curve, card := filepath.Join(b.Dir(), "curve.png"), filepath.Join(b.Dir(), "card.png")
	if err := cmp.Or(save(plotting.DrawCurve(-1), v, plotting.A5, curve), save(plotting.DrawCard, v, plotting.A5, card)); err != nil {
		return err
	}
	settings := map[float64]int{}
	for _, one := range v.Settings {
		settings[one.Target.TempoBPM] = one.Setting
	}
	for _, song := range v.Songs {
		if delete(settings, song.TempoBPM); song.Stands >= loop.Sure {
			settings[song.TempoBPM] = song.Setting
		}
	}
	for _, tempo := range tempos {
		if _, tight := settings[tempo]; !tight {
			return fmt.Errorf("the machine in %s is not tight at %.4g BPM: try another -seed", b.Dir(), tempo)
		}
	}
	fmt.Fprintf(out, "\nSettings, all tight:\n")
	for _, tempo := range tempos {
		fmt.Fprintf(out, "  %4.4g BPM  %s\n", tempo, calib.SettingWords(settings[tempo]))
	}
	fmt.Fprintf(out, "\nmachine  %s\ncurve    %s\ncard     %s\n", b.Dir(), curve, card)
	return nil
}
