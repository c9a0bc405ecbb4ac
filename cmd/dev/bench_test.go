package main

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/calib/practice"
	"lagwright/internal/target"
)

func TestBenchInstallsAubio(t *testing.T) {
	h, p := bare()
	if err := bench(t.Context(), h, nil); err == nil {
		t.Error("no error where aubio cannot be installed")
	}
	if last := p.ran[len(p.ran)-1].line; !strings.HasSuffix(last, "aubio-tools sox") {
		t.Errorf("ran %q, want aubio-tools and sox and no more installed", last)
	}
}

// saying is a pretended machine on which all programs say one thing.
type saying struct {
	*pretence
	says string
}

func (p saying) run(ctx context.Context, c command) error {
	if c.stdout != nil {
		io.WriteString(c.stdout, p.says)
	}
	return p.pretence.run(ctx, c)
}

// benchHere does one round of the benchmark in this process, on a quarter of a
// minute at low rates, and returns what it said and found.
func benchHere(t *testing.T, says string) (*pretence, []target.Figure, error) {
	t.Helper()
	h, p := bare()
	h.runner = saying{p, says}
	b := &benchmark{h, t.TempDir(), 1, 0.25, 8000, 16000}
	figures, err := b.figures(t.Context())
	if _, err := os.Stat(filepath.Join(b.dir, "big.wav")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the big take is still there (%v)", err)
	}
	return p, figures, err
}

func TestBenchEndsWithItsFigures(t *testing.T) {
	p, figures, err := benchHere(t, "0.5\n")
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"measure_long", "aubio_long", "measure_of_aubio", "measure_short", "measure_long_of_short", "lag_error_long",
		"measure_big", "lag_error_big", "peak_memory_big"}
	var got []string
	for _, f := range figures {
		got = append(got, f.Name)
		if strings.HasPrefix(f.Name, "lag_error") && f.Missed() || !(f.Value >= 0) {
			t.Errorf("%s, of a take that is easily measured", f)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("figures %q, want %q, in\n%s", got, want, p.said())
	}
	var hops int
	for _, line := range p.lines() {
		if strings.HasPrefix(line, "aubioonset -H 128 ") {
			hops++
		}
	}
	if hops != 2 {
		t.Errorf("aubioonset ran %d times, want once for each channel", hops)
	}
}

func TestBenchDoubtsADeafAubio(t *testing.T) {
	if _, _, err := benchHere(t, ""); err == nil || !strings.Contains(err.Error(), "heard nothing") {
		t.Errorf("%v, want that aubio heard nothing", err)
	}
}

func TestOffMS(t *testing.T) {
	truth := practice.Truth{VoiceHitsS: make([]float64, 10), MeanLagMS: 3}
	if got := (outcome{LagMS: 2.5, Used: 5}).offMS(truth); got != 0.5 {
		t.Errorf("off by %g ms, want 0.5", got)
	}
	if got := (outcome{LagMS: 3, Used: 4}).offMS(truth); !math.IsInf(got, 1) {
		t.Errorf("off by %g ms where most hits were lost", got)
	}
}
