package signal

import (
	"context"
	"math"
	"slices"
	"testing"

	"lagwright/calib"
)

// dipped is a take of which channel 2 is silent in some stretches.
type dipped struct {
	calib.Source
	at []stretch
}

func (d dipped) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	n, err := d.Source.ReadAt(dst, channel, frame)
	for i := range dst[:n] {
		for _, s := range d.at {
			if t := float64(frame+int64(i)) / d.Rate(); channel == 2 && t >= s.fromS && t < s.toS {
				dst[i] = 0
			}
		}
	}
	return n, err
}

// TestAgain: a trigger that hears again what was changed, and no more, tells the same as
// one that hears the whole channel afresh.
func TestAgain(t *testing.T) {
	take, _ := leaking(0.3)
	changed := []stretch{{fromS: 1.49, toS: 1.6}, {fromS: 1.7, toS: 1.71}, {fromS: 4.999, toS: 5.1}}
	clean := dipped{take, changed}
	ctx, before, afresh := context.Background(), newTrigger(take.Rate()), newTrigger(take.Rate())
	none := func(float64) {}
	for _, err := range []error{
		listen(ctx, take, 2, 0, take.Frames(), none, before.feed),
		listen(ctx, clean, 2, 0, take.Frames(), none, afresh.feed),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	was := slices.Clone(before.candidates)
	again, err := before.again(ctx, clean, 2, changed)
	if err != nil || slices.Equal(again.candidates, was) || !slices.Equal(before.candidates, was) {
		t.Fatalf("%+v, again %+v, %v", was, again.candidates, err)
	}
	if len(again.candidates) != len(afresh.candidates) || len(again.levels) != len(afresh.levels) {
		t.Fatalf("%d candidates and %d levels, afresh %d and %d", len(again.candidates), len(again.levels), len(afresh.candidates), len(afresh.levels))
	}
	for i, c := range again.candidates {
		if d := afresh.candidates[i]; c.frame != d.frame || math.Abs(c.peak/d.peak-1) > 1e-9 || math.Abs(decibels(c.before)-decibels(d.before)) > 0.1 {
			t.Errorf("%+v, afresh %+v", c, d)
		}
	}
	for i, l := range again.levels {
		if math.Abs(float64(l-afresh.levels[i])) > 0.01 {
			t.Errorf("block %d has %g dB, afresh %g", i, l, afresh.levels[i])
		}
	}
}
