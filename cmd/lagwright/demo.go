package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"path/filepath"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting"
)

// demoTempos are the tempos of the demo's set list, in BPM.
var demoTempos = []float64{72, 96, 120}

// demoMost is how many takes the demo gives each tempo before it gives up.
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
	for _, tempo := range demoTempos {
		if err := tune(ctx, b, tempo, out); err != nil {
			return err
		}
	}
	return demoFigures(b, out)
}

// tune runs the loop at one tempo until the voice is tight.
func tune(ctx context.Context, b *bench.Bench, tempo float64, out io.Writer) error {
	if err := b.Aim(machine.Target{TempoBPM: tempo, Voice: b.Machine().Target.Voice}); err != nil {
		return err
	}
	fmt.Fprintf(out, "\n%.4g BPM\n", tempo)
	for takes := 0; ; {
		at := b.View()
		switch at.Stage {
		case loop.Tight:
			return nil
		case loop.AwaitMove:
			fmt.Fprintf(out, "  %s (%s → %s).\n", calib.TurnWords(at.Steps), calib.SettingWords(at.Setting), calib.SettingWords(at.Setting+at.Steps))
			if err := b.Moved(at.Steps, ""); err != nil {
				return err
			}
		case loop.AwaitTake:
			if takes++; takes > demoMost {
				return fmt.Errorf("the voice is not tight at %.4g BPM after %d takes: try another -seed", tempo, demoMost)
			}
			t, err := b.Play(ctx, nil)
			if err != nil {
				return err
			}
			r, _ := b.View().Result(t.ID, t.Target.Voice)
			fmt.Fprintf(out, "  take %d at %s: %s (± %.1f) at %.4g BPM, played at %.1f, jitter %.1f ms, %d pairs: %s\n", t.ID, calib.SettingWords(r.Setting),
				calib.LateEarly(r.LagMS), r.HalfMS, tempo, r.Reading.TempoBPM, r.Reading.JitterMS, r.Reading.Used(), r.Outcome)
		}
	}
}

func demoFigures(b *bench.Bench, out io.Writer) error {
	v := b.View()
	curve, card := filepath.Join(b.Dir(), "curve.png"), filepath.Join(b.Dir(), "card.png")
	if err := cmp.Or(save(plotting.DrawCurve(-1), v, plotting.A5, curve), save(plotting.DrawCard, v, plotting.A5, card)); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nSettings, all tight:\n")
	for _, one := range v.Settings {
		fmt.Fprintf(out, "  %4.4g BPM  %s\n", one.Target.TempoBPM, calib.SettingWords(one.Setting))
	}
	fmt.Fprintf(out, "\nmachine  %s\ncurve    %s\ncard     %s\n", b.Dir(), curve, card)
	return nil
}
