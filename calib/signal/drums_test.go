package signal_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"os/exec"
	"testing"

	"lagwright/internal/must"
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
	must.Do(t, binary.Read(&out, binary.LittleEndian, x))
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
