package calib

import (
	"math"
	"testing"
)

// TestOtherSound: invented strikes with a clunk 0.2 s before most of them.
func TestOtherSound(t *testing.T) {
	strikes := []float64{1, 2.01, 3.02, 4, 5.01}
	for _, c := range []struct {
		name   string
		others []float64
		hits   int
		gapMS  float64
	}{
		{"before", []float64{0.8, 1.811, 2.4, 2.819, 4.811}, 4, -200},
		{"after", []float64{1.117, 2.127, 3.137, 4.117}, 4, 117},
		{"scattered", []float64{0.8, 1.83, 2.77, 3.9, 4.6}, 0, 0},
		{"too few", []float64{0.8, 1.81}, 0, 0},
		{"too far", []float64{0.3, 1.31, 2.32, 3.3}, 0, 0},
		{"nothing", nil, 0, 0},
	} {
		hits, gap := OtherSound(strikes, c.others)
		if len(hits) != c.hits || math.Abs(gap-c.gapMS) > 1.5 {
			t.Errorf("%s: %v at %g ms, want %d at %g ms", c.name, hits, gap, c.hits, c.gapMS)
		}
	}
	if hits, _ := OtherSound(nil, strikes); hits != nil {
		t.Errorf("no strikes, but %v", hits)
	}
}
