package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"lagwright/calib"
	loop "lagwright/calib/bench" // bench is a verb here
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/signal"
	"lagwright/plotting"
)

// worked is what the pages' examples are made of: a session of the simulated
// machine, the one that `lagwright demo` plays, and a hard take.
type worked struct {
	session session.Session
	law     calib.Law // of its voice, by all its takes

	play      practice.Play
	sound     *practice.Recording
	truth     practice.Truth
	reading   calib.Reading
	heard     [2][]signal.Hit // in each channel by itself
	separated [2][]signal.Hit // once the other's leaks are out
}

// workTempos are those of the session, in BPM; workAsked is one it has not played.
var workTempos = []float64{72, 96, 120}

const workAsked = 132

// workTakes is how many takes a tempo gets before something is wrong.
const workTakes = 6

func workOut(ctx context.Context) (*worked, error) {
	w := &worked{}
	if err := w.tune(ctx); err != nil {
		return nil, err
	}
	points := w.points()
	ways, err := calib.Explain(points, w.session.Prior(w.session.Target.Voice))
	if err != nil {
		return nil, err
	}
	w.law = ways[0].Law
	return w, w.listen(ctx)
}

// tune plays the session.
func (w *worked) tune(ctx context.Context) error {
	dir, err := os.MkdirTemp("", "lagwright-documents")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	b, err := loop.Create(filepath.Join(dir, "session"), loop.Practice(1, workTempos[0]))
	if err != nil {
		return err
	}
	defer b.Close()
	for _, tempo := range workTempos {
		if err := b.Aim(session.Target{TempoBPM: tempo, Voice: b.Session().Target.Voice}); err != nil {
			return err
		}
		for takes := 0; b.Standing().Stage != loop.Tight; {
			at := b.Standing()
			if at.Stage == loop.AwaitMove {
				err = b.Moved(at.Steps, "")
			} else if takes++; takes > workTakes {
				err = fmt.Errorf("the simulated machine is not tight at %g BPM after %d takes", tempo, workTakes)
			} else {
				_, err = b.Play(ctx, nil)
			}
			if err != nil {
				return err
			}
		}
	}
	w.session = b.Session()
	return nil
}

// points are the session's readings as the law sees them.
func (w *worked) points() (points []calib.Point) {
	for _, t := range w.session.Takes {
		if p, ok := t.Point(); ok {
			points = append(points, p)
		}
	}
	return points
}

// listen plays and measures the hard take.
func (w *worked) listen(ctx context.Context) error {
	w.play = practice.Play{TempoBPM: 96, Setting: 20, Hits: 14, Seed: 3, Disturb: practice.Disturb{
		ClunkDB: -9, LeakDB: -11, ClatterDB: -14, KnockDB: -6, KnocksPerS: 0.6, MissedShare: 0.1, DoubleShare: 0.15, HumDB: -20,
	}}
	w.sound, w.truth = practice.Default().Play(w.play)
	var err error
	for i := range w.heard {
		if w.heard[i], _, err = signal.Hits(ctx, w.sound, i+1, nil); err != nil {
			return err
		}
	}
	w.separated[0], w.separated[1] = signal.Separate(w.heard[0], w.heard[1])
	w.reading, err = signal.Measure(ctx, w.sound, signal.Options{})
	return err
}

// figuresOfPages are the pages' figures, as PNG, by path.
var figuresOfPages = map[string]func(*worked) ([]byte, error){
	"calib/law.png": func(w *worked) ([]byte, error) {
		made, err := loop.PlanOf(w.session)
		if err != nil {
			return nil, err
		}
		return small(plotting.SetListCurveOf(w.session, made, -1).Figure(plotting.Light()))
	},
	"calib/signal/measuring.png": func(w *worked) ([]byte, error) {
		return small(plotting.Picture{
			Title:          fmt.Sprintf("A take of the simulated machine: %s", calib.LateEarly(w.reading.LagMS)),
			Whole:          stretchOf(w.sound, 0, float64(w.sound.Frames())/w.sound.Rate()),
			Near:           stretchOf(w.sound, nearFromS, nearToS),
			ReferenceHitsS: w.reading.ReferenceHitsS,
			Pairs:          w.reading.Pairs,
		}.Figure(plotting.Light()))
	},
}

// What is shown of the hard take from near, in s.
const nearFromS, nearToS = 2.9, 5.9
