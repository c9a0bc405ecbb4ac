package trace

import (
	"context"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
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
func source(t *rapid.T) *memory {
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
	return &memory{rate: 48000, channels: [][]float32{samples}}
}

func TestMinMaxAgainstBrute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := source(t)
		p, err := Build(context.Background(), src, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		n := src.Frames()
		for range 10 {
			from := rapid.Int64Range(-10, n+10).Draw(t, "from")
			to := rapid.Int64Range(from, n+20).Draw(t, "to")
			got, err := p.MinMax(from, to)
			if want := brute(src.channels[0], from, to); err != nil || got != want {
				t.Fatalf("MinMax(%d, %d) = %v, %v, want %v", from, to, got, err, want)
			}
		}
	})
}

// TestColumnsAgainstBrute checks that a column holds every sample of its stretch,
// and none further off than one bin of its level.
func TestColumnsAgainstBrute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := source(t)
		p, err := Build(context.Background(), src, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		from := rapid.Float64Range(-100, float64(src.Frames())).Draw(t, "from")
		per := math.Exp2(rapid.Float64Range(0, 14).Draw(t, "log2 frames in a column"))
		columns := make([]Range, rapid.IntRange(1, 60).Draw(t, "columns"))
		if err := p.Columns(columns, from, per); err != nil {
			t.Fatal(err)
		}
		slack := int64(0)
		if per >= leastBin {
			slack = int64(max(leastBin, per/branch))
		}
		for i, got := range columns {
			lo, hi := int64(math.Floor(from+float64(i)*per)), int64(math.Ceil(from+float64(i+1)*per))
			inner, outer := brute(src.channels[0], lo, hi), brute(src.channels[0], lo-slack, hi+slack)
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
	src := &memory{rate: 48000, channels: [][]float32{make([]float32, 20*readBlock)}}
	last, calls := 0.0, 0
	if _, err := Build(context.Background(), src, 1, func(share float64) {
		if share < last {
			t.Errorf("progress went back from %v to %v", last, share)
		}
		last = share
		calls++
	}); err != nil {
		t.Fatal(err)
	}
	if last != 1 || calls < 10 || calls > 101 {
		t.Errorf("progress ended at %v after %d calls", last, calls)
	}
}

func TestBuildCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	src := &memory{rate: 48000, channels: [][]float32{make([]float32, 50*readBlock)}}
	_, err := Build(ctx, src, 1, func(float64) { cancel() })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("err = %v, want cancelled", err)
	}
	if src.reads > 3 {
		t.Errorf("read %d times after it was cancelled", src.reads)
	}
}

func TestBuildFaults(t *testing.T) {
	src := &memory{rate: 48000, channels: [][]float32{make([]float32, 100)}}
	if _, err := Build(context.Background(), src, 2, nil); err == nil || !strings.Contains(err.Error(), "channel 2") {
		t.Errorf("err = %v, want one about channel 2", err)
	}
	src.fail = errors.New("the disk is gone")
	if _, err := Build(context.Background(), src, 1, nil); !errors.Is(err, src.fail) {
		t.Errorf("err = %v, want the source's", err)
	}
}

// TestBuildShort checks that a source that ends early ends the pyramid.
func TestBuildShort(t *testing.T) {
	src := &memory{rate: 48000, channels: [][]float32{make([]float32, 1000)}, short: 5000}
	p, err := Build(context.Background(), src, 1, nil)
	if err != nil || p.Frames() != 1000 {
		t.Fatalf("frames = %d, %v, want 1000", p.Frames(), err)
	}
}

// TestBuildNaN checks that what is no number counts as silence.
func TestBuildNaN(t *testing.T) {
	samples := []float32{0.5, float32(math.NaN()), -0.25}
	p, err := Build(context.Background(), &memory{rate: 10, channels: [][]float32{samples}}, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got, _ := p.MinMax(0, 3); got != (Range{-0.25, 0.5}) {
		t.Errorf("MinMax = %v", got)
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
	p, err := Build(context.Background(), &memory{rate: 8000, channels: [][]float32{samples}}, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	if p.Peak() != float64(float32(0.1)) {
		t.Errorf("peak = %v, want 0.1", p.Peak())
	}
	silent, err := Build(context.Background(), &memory{rate: 8000, channels: [][]float32{make([]float32, 99)}}, 1, nil)
	if err != nil || gain(silent) != 1 {
		t.Errorf("a silent channel is drawn ×%v, %v", gain(silent), err)
	}
}

// TestWindow checks that panning close up does not read the source each time.
func TestWindow(t *testing.T) {
	src := &memory{rate: 48000, channels: [][]float32{make([]float32, 48000)}}
	p, err := Build(context.Background(), src, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	src.reads = 0
	columns := make([]Range, 500)
	for i := range 50 {
		if err := p.Columns(columns, 20000+float64(i), 2); err != nil {
			t.Fatal(err)
		}
	}
	if src.reads > 2 {
		t.Errorf("50 small pans read %d times", src.reads)
	}
	src.fail = io.ErrUnexpectedEOF
	if err := p.Columns(columns, 0, 2); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("err = %v, want the source's", err)
	}
}

// hour is an hour at 48 kHz, of which one second is kept.
type hour struct{ second []float32 }

func (h hour) Rate() float64 { return 48000 }
func (h hour) Channels() int { return 2 }
func (h hour) Frames() int64 { return 3600 * 48000 }

func (h hour) ReadAt(dst []float32, _ int, frame int64) (int, error) {
	n := 0
	for n < len(dst) && frame+int64(n) < h.Frames() {
		n += copy(dst[n:], h.second[(frame+int64(n))%48000:])
	}
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}

// newHour returns an hour with a hit each second.
func newHour() hour {
	h := hour{make([]float32, 48000)}
	strike(h.second, 48000, 0.2, 300, 0.05, 0.6)
	return h
}

func BenchmarkBuildHour(b *testing.B) {
	src := newHour()
	for b.Loop() {
		if _, err := Build(context.Background(), src, 1, nil); err != nil {
			b.Fatal(err)
		}
	}
}
