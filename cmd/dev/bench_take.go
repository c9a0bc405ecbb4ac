package main

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strconv"

	"lagwright/calib/practice"
	"lagwright/calib/take"
)

// benchTempo is the tempo of the takes, in BPM.
const benchTempo = 96.0

// benchTake is a take on the disk, whole and channel by channel.
type benchTake struct {
	name   string
	stereo string
	mono   [2]string
	truth  practice.Truth
}

// offMS returns how far a lag is off in ms, either way; infinitely far where less
// than half of the hits went into it.
func (t benchTake) offMS(o outcome) float64 {
	if 2*o.Used < len(t.truth.VoiceHitsS) {
		return math.Inf(1)
	}
	return math.Abs(o.LagMS - t.truth.MeanLagMS)
}

// benchPlay plays the simulated machine with its everyday habits for so long.
func benchPlay(minutes, rate float64) (*practice.Recording, practice.Truth) {
	return practice.Default().Play(practice.Play{TempoBPM: benchTempo, Hits: int(minutes*benchTempo) - 3, Rate: rate, Seed: 1})
}

// play writes a take of so many minutes; sox takes it apart for a program that would mix
// its channels.
func (b *benchmark) play(ctx context.Context, name string, minutes float64) (t benchTake, err error) {
	rec, truth := benchPlay(minutes, b.rate)
	t = benchTake{name: name, stereo: filepath.Join(b.dir, name+".wav"), truth: truth}
	err = take.Write(ctx, t.stereo, rec, nil)
	for i := range t.mono {
		t.mono[i] = filepath.Join(b.dir, fmt.Sprintf("%s%d.wav", name, i+1))
		err = cmp.Or(err, b.h.show(ctx, nil, "sox", t.stereo, t.mono[i], "remix", strconv.Itoa(i+1)))
	}
	return t, err
}
