package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/plotting"
)

// hardTake is a take that shows what measuring is up against.
type hardTake struct {
	trap    string
	seed    uint64
	fromS   float64 // from here
	lengthS float64 // this much is shown from near
}

var hardTakes = []hardTake{
	{"clatter", 5, 2, 3},
	{"loud-shop", 4, 2, 3},
	{"converged", 6, 2, 0.3},
}

// writePictures measures the hard takes and writes a picture of each into a
// folder.
func writePictures(ctx context.Context, h *host, dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	for _, hard := range hardTakes {
		figure, err := hard.figure(ctx)
		if err != nil {
			return fmt.Errorf("drawing %s with seed %d: %w", hard.trap, hard.seed, err)
		}
		path := filepath.Join(dir, "hard-"+hard.trap+".png")
		if err := figure.Save(path); err != nil {
			return err
		}
		h.say("%s", path)
	}
	return nil
}

func (hard hardTake) figure(ctx context.Context) (*plotting.Figure, error) {
	traps, err := chosenTraps(hard.trap)
	if err != nil {
		return nil, err
	}
	m, p := traps[0].Make(hard.seed)
	rec, truth := m.Play(p)
	r, err := signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat})
	if err != nil {
		return nil, err
	}
	from := startOfPair(r, hard.fromS, hard.lengthS)
	return plotting.Picture{
		Title: fmt.Sprintf("%s: %s; lag off by %.2f ms", hard.trap, traps[0].About,
			math.Abs(r.LagMS+wholeBeatsMS(r, truth.Heard().MeanLagMS)-truth.Heard().MeanLagMS)),
		Whole:          stretchOf(rec, 0, float64(rec.Frames())/rec.Rate()),
		Near:           stretchOf(rec, from, from+hard.lengthS),
		ReferenceHitsS: r.ReferenceHitsS,
		Pairs:          r.Pairs,
	}.Figure(plotting.Light())
}

// startOfPair returns where a stretch begins that has the first used pair after a
// moment a quarter in.
func startOfPair(r calib.Reading, fromS, lengthS float64) float64 {
	for _, p := range r.Pairs {
		if at := min(p.ReferenceS, p.VoiceS); p.Used && at > fromS {
			return at - lengthS/4
		}
	}
	return fromS
}

// columnsAcross is how many columns a picture is drawn with.
const columnsAcross = 1400

// stretchOf reads a stretch of a practice take as columns.
func stretchOf(rec *practice.Recording, fromS, toS float64) plotting.Stretch {
	first := int64(fromS * rec.Rate())
	n := min(int64(toS*rec.Rate()), rec.Frames()) - first
	s := plotting.Stretch{FromS: fromS, ToS: fromS + float64(n)/rec.Rate()}
	for channel, into := range map[int]*[]plotting.Column{1: &s.Reference, 2: &s.Voice} {
		x := make([]float32, n)
		rec.ReadAt(x, channel, first) // in memory, and cut to its length: it cannot fail
		for i := range int64(columnsAcross) {
			var c plotting.Column
			for _, v := range x[i*n/columnsAcross : (i+1)*n/columnsAcross] {
				c = plotting.Column{Min: min(c.Min, v), Max: max(c.Max, v)}
			}
			*into = append(*into, c)
		}
	}
	return s
}
