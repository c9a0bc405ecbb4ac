package signal_test

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib/signal"
	"lagwright/internal/must"
)

// TestNoWorseThanAubio hears the same clean take with aubioonset (aubio 0.4,
// GPL-3+, run as a program), a general onset detector: its median error is an
// outside yardstick for ours.
func TestNoWorseThanAubio(t *testing.T) {
	if testing.Short() {
		t.Skip("asks aubio")
	}
	t.Parallel()
	const beat, hits = drumRate / 2, 16
	sound, first := decode(t, "drum_tom_hi_hard")
	x := hiss(rand.New(rand.NewPCG(3, 4)), beat*(hits+1), 0.001)
	var truth []float64
	for i := range hits {
		at := beat/2 + beat*i + 37*i
		lay(x, sound, at-first, 0.7)
		truth = append(truth, float64(at)/drumRate)
	}
	found := must.Get(signal.Hits(context.Background(), &memory{drumRate, [][]float32{x}}, 1))(t)
	var ours []float64
	for _, h := range found {
		ours = append(ours, h.TimeS)
	}
	own, its := medianError(truth, ours), medianError(truth, aubio(t, x))
	t.Logf("median error: ours %.4f ms, aubio's %.4f ms", own, its)
	if !(own <= its) {
		t.Errorf("median error of %.4f ms is worse than aubio's %.4f ms", own, its)
	}
}

// medianError returns the median distance in ms from each true time to the
// nearest heard one.
func medianError(truth, heard []float64) float64 {
	var e []float64
	for _, x := range truth {
		near := math.Inf(1)
		for _, y := range heard {
			near = min(near, 1000*math.Abs(y-x))
		}
		e = append(e, near)
	}
	return quantile(e, 0.5)
}

// aubio returns the onsets that aubioonset hears, in s.
func aubio(t *testing.T, x []float32) []float64 {
	t.Helper()
	file := filepath.Join(t.TempDir(), "take.wav")
	sox := exec.Command("sox", "-t", "f32", "-L", "-c", "1", "-r", strconv.Itoa(drumRate), "-", "-b", "16", file)
	sox.Stdin = bytes.NewReader(rawFloats(x))
	if out, err := sox.CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s; install sox", err, out)
	}
	cmd := exec.Command("aubioonset", file)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("aubioonset: %v; install aubio-tools", err)
	}
	var s []float64
	for _, f := range strings.Fields(string(out)) {
		v := must.Get(strconv.ParseFloat(f, 64))(t)
		s = append(s, v)
	}
	return s
}

func rawFloats(x []float32) []byte {
	b := make([]byte, 0, 4*len(x))
	for _, v := range x {
		u := math.Float32bits(v)
		b = append(b, byte(u), byte(u>>8), byte(u>>16), byte(u>>24))
	}
	return b
}
