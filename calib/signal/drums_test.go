package signal_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"lagwright/calib"
	"lagwright/calib/signal"
)

// The nine isolated hits of the Debian package sonic-pi-samples (CC0-1.0 by its
// copyright file), recorded from real drums.
var drums = []string{
	"drum_bass_hard", "drum_bass_soft", "drum_snare_hard", "drum_snare_soft", "drum_tom_hi_hard",
	"drum_tom_mid_hard", "drum_tom_lo_hard", "drum_cowbell", "drum_cymbal_closed",
}

const (
	drumRate  = 44100
	firstTell = 0.01 // of the peak: a recording's first sample beyond it is where its sound begins
)

// decode returns a drum hit scaled to a peak of 1, and its true first sample:
// the first beyond firstTell of the peak on the clean recording.
func decode(t *testing.T, name string) (x []float32, first int) {
	t.Helper()
	cmd := exec.Command("sox", "/usr/share/sonic-pi/samples/"+name+".flac", "-t", "f32", "-L", "-c", "1", "-r", "44100", "-")
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("cannot decode %s: %v %s; install sox, libsox-fmt-all and sonic-pi-samples", name, err, errs.String())
	}
	x = make([]float32, out.Len()/4)
	if err := binary.Read(&out, binary.LittleEndian, x); err != nil {
		t.Fatal(err)
	}
	var peak float32
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	first = -1
	for i := range x {
		x[i] /= peak
		if first < 0 && math.Abs(float64(x[i])) > firstTell {
			first = i
		}
	}
	return x, first
}

// TestRealDrums lays recorded drum hits at known samples and measures them.
func TestRealDrums(t *testing.T) {
	t.Parallel()
	const (
		beat, hits = drumRate * 6 / 10, 12
		lag        = 1763 // samples
		noise      = 0.002
	)
	tick, tickFirst := decode(t, "drum_cowbell")
	for _, name := range drums {
		sound, first := decode(t, name)
		r := rand.New(rand.NewPCG(1, 2))
		take := &memory{drumRate, [][]float32{hiss(r, beat*(hits+2), noise/2), hiss(r, beat*(hits+2), noise/2)}}
		var truth []float64
		for i := range hits {
			at := beat/2 + beat*i
			lay(take.samples[0], tick, at-tickFirst, 0.5)
			lay(take.samples[1], sound, at+lag-first, 0.5)
			truth = append(truth, float64(at+lag)/drumRate)
		}
		got, err := signal.Measure(context.Background(), take, signal.Options{})
		if err != nil {
			t.Fatal(err)
		}
		f, _ := calib.FMeasure(truth, got.VoiceHitsS, 0.005)
		off := got.LagMS - 1000*float64(lag)/drumRate
		t.Logf("%-18s first sample %4d  lag %+.3f ms  jitter %.3f ms  F at 5 ms %.3f  used %d", name, first, off, got.JitterMS, f, got.Used())
		if math.Abs(off) > 1 || f < 1 || got.Used() != hits {
			t.Errorf("%s: lag off by %.3f ms, F %.3f, %d pairs", name, off, f, got.Used())
		}
	}
}
