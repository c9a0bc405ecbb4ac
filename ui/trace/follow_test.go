package trace

import (
	"context"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// A pyramid that grew in pieces is the one that was built at once.
func TestGrowAgainstBuild(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := source(t)
		part := &memory{rate: all.rate, channels: [][]float32{nil}}
		grown, err := Build(context.Background(), part, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		for len(part.channels[0]) < len(all.channels[0]) {
			n := rapid.IntRange(1, 20000).Draw(t, "gained")
			part.channels[0] = all.channels[0][:min(len(part.channels[0])+n, len(all.channels[0]))]
			if err := grown.Grow(); err != nil {
				t.Fatal(err)
			}
		}
		built, err := Build(context.Background(), all, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
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

// The view moves on with the newest sound, unless somebody looks back.
func TestFollow(t *testing.T) {
	src := &memory{rate: 1000, channels: [][]float32{nil, nil}}
	var pyramids [2]*Pyramid
	for i := range pyramids {
		p, err := Build(context.Background(), src, i+1, nil)
		if err != nil {
			t.Fatal(err)
		}
		pyramids[i] = p
	}
	tr := New()
	tr.Follow(&Take{Source: src, Reference: pyramids[0], Voice: pyramids[1]})
	record := func(seconds int) {
		for i := range src.channels {
			src.channels[i] = append(src.channels[i], make([]float32, 1000*seconds)...)
		}
		if err := tr.Advance(); err != nil {
			t.Fatal(err)
		}
	}
	view := func(from, to float64) {
		t.Helper()
		if a, b := tr.View(); a != from || b != to {
			t.Errorf("the view is %g to %g s, want %g to %g", a, b, from, to)
		}
	}
	record(5)
	view(0, followS)
	record(10)
	view(15-followS, 15)
	tr.ZoomTo(2, 4)
	record(10)
	view(2, 4)
	tr.ZoomTo(20, 25)
	record(5)
	view(25, 30)
}

// A repaint of a growing take costs what it gained, at any length.
func BenchmarkGrow(b *testing.B) {
	for _, minutes := range []int{1, 60} {
		b.Run(map[int]string{1: "minute", 60: "hour"}[minutes], func(b *testing.B) {
			const rate, gain = 48000, 2400
			all := make([]float32, rate*60*minutes, rate*60*minutes+gain*b.N)
			src := &memory{rate: rate, channels: [][]float32{all}}
			p, err := Build(context.Background(), src, 1, nil)
			if err != nil {
				b.Fatal(err)
			}
			b.ResetTimer()
			for range b.N {
				src.channels[0] = src.channels[0][:len(src.channels[0])+gain]
				if err := p.Grow(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
