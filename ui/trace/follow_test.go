package trace

import (
	"context"
	"testing"

	"lagwright/internal/must"
	"lagwright/internal/soundtest"
	"lagwright/plotting/wave"
)

// The view moves on with the newest sound, unless somebody looks back.
func TestFollow(t *testing.T) {
	src := soundtest.Of(1000, nil, nil)
	var pyramids [2]*wave.Pyramid
	for i := range pyramids {
		p := must.Get(wave.Build(context.Background(), src, i+1, nil))(t)
		pyramids[i] = p
	}
	tr := New()
	tr.Follow(&Take{Reference: pyramids[0], Voice: pyramids[1]})
	record := func(seconds int) {
		for i := range src.Samples {
			src.Samples[i] = append(src.Samples[i], make([]float32, 1000*seconds)...)
		}
		must.Do(t, tr.Advance())
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
