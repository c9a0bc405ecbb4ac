package plotting

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/must"
	"lagwright/plotting/wave"
)

// The figures of LAW.md and MEASURING.md are of the machine and the take that tests
// beside those pages work out in numbers.
func TestFiguresOfPages(t *testing.T) {
	figures := map[string]*Figure{"../calib/law.png": lawFigure(t), "../calib/signal/measuring.png": measuringFigure(t), "../calib/signal/sweep.png": sweepFigure(t)}
	if *regen { // those of the traps take long
		for _, hard := range hardTakes {
			figures["../assets/hard-"+hard.trap+".png"] = hard.figure(t)
		}
	}
	for path, f := range figures {
		got := f.Image(1240, 694, 1.75)
		if *regen {
			writePNG(t, path, got)
		}
		if d := differenceTo(t, path, got); d > goldenTolerance {
			t.Errorf("%s differs by %.2f levels from what is drawn: run with -regen and look at it", path, d)
		}
	}
}

// lawFigure is the curve of the machine that lagwright demo plays.
func lawFigure(t *testing.T) *Figure {
	t.Helper()
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), bench.Practice(1, 72)))(t)
	defer b.Close()
	for _, tempo := range []float64{72, 96, 120} {
		must.Do(t, b.Aim(machine.Target{TempoBPM: tempo, Voice: b.Machine().Target.Voice}))
		for takes := 0; b.View().Stage != loop.Tight && takes < 12; takes++ {
			if at := b.View(); at.Stage == loop.AwaitMove {
				must.Do(t, b.Moved(at.Steps, ""))
			} else {
				must.Get(b.Play(t.Context(), nil))(t)
			}
		}
	}
	f := SetListCurveOf(b.View(), -1).Figure(inks)
	return f
}

// measuringFigure is the take of MEASURING.md.
func measuringFigure(t *testing.T) *Figure {
	t.Helper()
	sound, _ := practice.Default().Play(practice.Play{TempoBPM: 96, Setting: 20, Hits: 14, Seed: 3, Disturb: practice.Disturb{
		ClunkDB: -9, LeakDB: -11, ClatterDB: -14, KnockDB: -6, KnocksPerS: 0.6, MissedShare: 0.1, DoubleShare: 0.15, HumDB: -20,
	}})
	r := measured(t, sound, signal.Options{})
	return takeFigure(t, "A take of the simulated machine: "+calib.LateEarly(r.LagMS), sound, r, 2.9, 5.9)
}

// sweepFigure is the sweep of MEASURING.md: its trace, and below it each voice hit at its
// own tempo, used or not, the law with its band, and where songs come to lie on it.
func sweepFigure(t *testing.T) *Figure {
	t.Helper()
	m := practice.Default()
	sound, _ := m.Play(practice.Play{Voice: m.Voices[0].Name, TempoBPM: 62, Setting: 26, Seed: 5, Rate: 22050,
		Sweep: practice.Sweep{ToBPM: 138, Seconds: 45, Uneven: 0.5}, Disturb: practice.Disturb{ClunkDB: -14, LeakDB: -14, MissedShare: 0.06, WowPct: 1}})
	r := measured(t, sound, signal.Options{})
	trace := takeFigure(t, "A sweep of the simulated machine, 62 to 138 BPM", sound, r, 20.6, 23.6)
	byTempo := fanOf(r, 0, 0, 70, 90, 110, 130).paint
	return &Figure{width: trace.width, height: trace.height, background: inks.Paper, pages: []func(pen){func(p pen) {
		half := p.h / 2
		trace.pages[0](p.crop(0, 0, half, 0))
		byTempo(p.crop(0, 0, 0, half))
	}}}
}

// hardTakes show what measuring is up against: takes of traps that the verb accuracy
// of cmd/dev measures, and the stretch shown from near.
var hardTakes = []hardTake{{"clatter", 5, 10.7, 13.7}, {"loud-shop", 4, 8.2, 11.2}, {"converged", 6, 5.8, 6.0}}

type hardTake struct {
	trap       string
	seed       uint64
	fromS, toS float64
}

func (hard hardTake) figure(t *testing.T) *Figure {
	t.Helper()
	traps := practice.Traps()
	m, p := traps[slices.IndexFunc(traps, func(trap practice.Trap) bool { return trap.Name == hard.trap })].Make(hard.seed)
	sound, truth := m.Play(p)
	r := measured(t, sound, signal.Options{PerBeat: p.PerBeat})
	off := math.Abs(math.Remainder(r.LagMS-truth.Heard().MeanLagMS, r.ReferencePeriodMS))
	return takeFigure(t, fmt.Sprintf("%s, seed %d: %.2f ms from the true lag", hard.trap, hard.seed, off), sound, r, hard.fromS, hard.toS)
}

func measured(t *testing.T, sound calib.Recording, o signal.Options) calib.Reading {
	t.Helper()
	return must.Get(signal.Measure(t.Context(), sound, o))(t)
}

// takeFigure is a take, whole and a stretch of it from near.
func takeFigure(t *testing.T, title string, sound calib.Recording, r calib.Reading, fromS, toS float64) *Figure {
	t.Helper()
	p := Picture{Title: title, Reading: r}
	addSound(t, &p, sound, fromS, toS)
	f := p.Figure()
	return f
}

// addSound gives a picture the first two channels of a recording.
func addSound(t *testing.T, p *Picture, sound calib.Source, fromS, toS float64) {
	t.Helper()
	var channels [2]*wave.Pyramid
	for i := range channels {
		channels[i] = must.Get(wave.Build(t.Context(), sound, i+1, nil))(t)
	}
	must.Do(t, p.AddSound(channels[0], channels[1], fromS, toS, true))
}
