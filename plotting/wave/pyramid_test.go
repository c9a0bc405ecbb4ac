package wave

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// brute returns the extremes of samples from up to to, cut to what there is.
func brute(samples []float32, from, to int64) Range {
	from, to = max(0, from), min(to, int64(len(samples)))
	if from >= to {
		return Range{}
	}
	r := Range{samples[from], samples[from]}
	for _, s := range samples[from:to] {
		r = Range{min(r.Min, s), max(r.Max, s)}
	}
	return r
}

// source draws a one-channel source whose length sits near the bins' borders or
// anywhere.
func source(t *rapid.T) *soundtest.Memory {
	n := rapid.OneOf(
		rapid.SampledFrom([]int{0, 1, 63, 64, 65, 255, 256, 257, 1024, 4097, readBlock - 1, readBlock, readBlock + 1}),
		rapid.IntRange(0, readBlock*3/2),
	).Draw(t, "frames")
	seed := rapid.Uint32().Draw(t, "seed")
	samples := make([]float32, n)
	for i := range samples {
		seed = seed*1664525 + 1013904223
		samples[i] = float32(int32(seed)) / (1 << 31)
	}
	return soundtest.Of(48000, samples)
}

// TestColumnsAgainstBrute checks that a column holds every sample of its stretch,
// and none further off than one bin of its level.
func TestColumnsAgainstBrute(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		src := source(t)
		p := must.Get(Build(context.Background(), src, 1, nil))(t)
		from := rapid.Float64Range(-100, float64(src.Frames())).Draw(t, "from")
		per := math.Exp2(rapid.Float64Range(0, 14).Draw(t, "log2 frames in a column"))
		columns := make([]Range, rapid.IntRange(1, 60).Draw(t, "columns"))
		must.Do(t, p.Columns(columns, from, per))
		slack := int64(0)
		if per >= leastBin {
			slack = int64(max(leastBin, per/branch))
		}
		for i, got := range columns {
			lo, hi := int64(math.Floor(from+float64(i)*per)), int64(math.Ceil(from+float64(i+1)*per))
			inner, outer := brute(src.Samples[0], lo, hi), brute(src.Samples[0], lo-slack, hi+slack)
			if got.Min > inner.Min || got.Max < inner.Max {
				t.Fatalf("column %d = %v misses some of %v", i, got, inner)
			}
			if lo < src.Frames() && hi > 0 && (got.Min < outer.Min || got.Max > outer.Max) {
				t.Fatalf("column %d = %v reaches beyond %v", i, got, outer)
			}
		}
	})
}

func TestBuildProgress(t *testing.T) {
	src := soundtest.Of(48000, make([]float32, 20*readBlock))
	last, calls := 0.0, 0
	must.Get(Build(context.Background(), src, 1, func(share float64) {
		if share < last {
			t.Errorf("progress went back from %v to %v", last, share)
		}
		last = share
		calls++
	}))(t)
	if last != 1 || calls < 10 || calls > 101 {
		t.Errorf("progress ended at %v after %d calls", last, calls)
	}
}

func TestBuildCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	src := soundtest.Of(48000, make([]float32, 50*readBlock))
	_, err := Build(ctx, src, 1, func(float64) { cancel() })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("err = %v, want cancelled", err)
	}
	if src.Reads > 3 {
		t.Errorf("read %d times after it was cancelled", src.Reads)
	}
}

func TestBuildFaults(t *testing.T) {
	src := soundtest.Of(48000, make([]float32, 100))
	if _, err := Build(context.Background(), src, 2, nil); err == nil || !strings.Contains(err.Error(), "channel 2") {
		t.Errorf("err = %v, want one about channel 2", err)
	}
	src.Fail = errors.New("the disk is gone")
	if _, err := Build(context.Background(), src, 1, nil); !errors.Is(err, src.Fail) {
		t.Errorf("err = %v, want the source's", err)
	}
}

// TestBuildShort checks that a source that ends early ends the pyramid.
func TestBuildShort(t *testing.T) {
	src := soundtest.Of(48000, make([]float32, 1000))
	src.Short = 5000
	p, err := Build(context.Background(), src, 1, nil)
	if err != nil || p.Frames() != 1000 {
		t.Fatalf("frames = %d, %v, want 1000", p.Frames(), err)
	}
}

// TestBuildNaN checks that what is no number counts as silence.
func TestBuildNaN(t *testing.T) {
	samples := []float32{0.5, float32(math.NaN()), -0.25}
	p := must.Get(Build(context.Background(), soundtest.Of(10, samples), 1, nil))(t)
	got := make([]Range, 1)
	if err := p.Columns(got, 0, 3); err != nil || got[0] != (Range{-0.25, 0.5}) {
		t.Errorf("%v, %v", got, err)
	}
}

// TestPeak checks that a bump does not hide the hits, and that pauses between
// hits do not make noise look like them.
func TestPeak(t *testing.T) {
	samples := make([]float32, 60*8000)
	for i := 0; i < len(samples); i += 8000 {
		samples[i] = 0.1
	}
	samples[100] = 1
	p := must.Get(Build(context.Background(), soundtest.Of(8000, samples), 1, nil))(t)
	if p.peak != float64(float32(0.1)) {
		t.Errorf("peak = %v, want 0.1", p.peak)
	}
	silent, err := Build(context.Background(), soundtest.Of(8000, make([]float32, 99)), 1, nil)
	if err != nil || silent.peak != 0 {
		t.Errorf("a silent channel has a peak of %v, %v", silent.peak, err)
	}
}

// TestWindow checks that panning close up does not read the source each time.
func TestWindow(t *testing.T) {
	src := soundtest.Of(48000, make([]float32, 48000))
	p := must.Get(Build(context.Background(), src, 1, nil))(t)
	src.Reads = 0
	columns := make([]Range, 500)
	for i := range 50 {
		must.Do(t, p.Columns(columns, 20000+float64(i), 2))
	}
	if src.Reads > 2 {
		t.Errorf("50 small pans read %d times", src.Reads)
	}
	src.Fail = io.ErrUnexpectedEOF
	if err := p.Columns(columns, 0, 2); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("err = %v, want the source's", err)
	}
}

func BenchmarkBuildHour(b *testing.B) {
	src := soundtest.NewHour()
	for b.Loop() {
		must.Get(Build(context.Background(), src, 1, nil))(b)
	}
}

// A pyramid that grew in pieces is the one that was built at once.
func TestGrowAgainstBuild(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		all := source(t)
		part := soundtest.Of(all.RateHz, nil)
		grown := must.Get(Build(context.Background(), part, 1, nil))(t)
		for len(part.Samples[0]) < len(all.Samples[0]) {
			n := rapid.IntRange(1, 20000).Draw(t, "gained")
			part.Samples[0] = all.Samples[0][:min(len(part.Samples[0])+n, len(all.Samples[0]))]
			must.Do(t, grown.Grow())
		}
		built := must.Get(Build(context.Background(), all, 1, nil))(t)
		if grown.frames != built.frames || grown.peak != built.peak || len(grown.levels) != len(built.levels) {
			t.Fatalf("grown: %d frames, peak %v, %d levels; built: %d, %v, %d",
				grown.frames, grown.peak, len(grown.levels), built.frames, built.peak, len(built.levels))
		}
		for i := range built.levels {
			if !slices.Equal(grown.levels[i], built.levels[i]) {
				t.Fatalf("level %d differs", i)
			}
		}
	})
}

// A repaint of a growing take costs what it gained, at any length.
func BenchmarkGrow(b *testing.B) {
	for _, minutes := range []int{1, 60} {
		b.Run(map[int]string{1: "minute", 60: "hour"}[minutes], func(b *testing.B) {
			const rate, gain = 48000, 2400
			all := make([]float32, rate*60*minutes, rate*60*minutes+gain*b.N)
			src := soundtest.Of(rate, all)
			p := must.Get(Build(context.Background(), src, 1, nil))(b)
			b.ResetTimer()
			for range b.N {
				src.Samples[0] = src.Samples[0][:len(src.Samples[0])+gain]
				must.Do(b, p.Grow())
			}
		})
	}
}

// Three hits in a take are lifted, not the noise between them.
func TestGainOfFewHits(t *testing.T) {
	samples := make([]float32, 60*100)
	for i := range samples {
		samples[i] = 0.005 + 0.003*float32(i%7)/7
	}
	for _, at := range []int{1500, 2100, 2700} {
		samples[at] = 0.5
	}
	p := must.Get(Build(context.Background(), soundtest.Of(100, samples), 1, nil))(t)
	if got := p.Gain(); got < 1.69 || got > 1.71 {
		t.Errorf("hits of 0.5 over noise are drawn ×%v, want ×1.7", got)
	}
}

// A usual hit fills its half; silence and a channel that is loud enough keep their size.
func TestGain(t *testing.T) {
	for peak, want := range map[float32]float64{0: 1, 1: 1, 0.5: 1.7, 0.001: 850, 1e-6: mostGain} {
		samples := make([]float32, 60*100)
		for i := range samples {
			samples[i] = peak
		}
		p := must.Get(Build(context.Background(), soundtest.Of(100, samples), 1, nil))(t)
		if got := p.Gain(); got < want*0.999 || got > want*1.001 {
			t.Errorf("hits of %v are drawn ×%v, want ×%v", peak, got, want)
		}
	}
}
