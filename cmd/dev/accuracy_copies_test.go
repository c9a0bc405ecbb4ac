package main

import (
	"math"
	"testing"

	"lagwright/internal/target"
)

// TestNoiseAndBound: of a sound that is sampled finely, the bound follows the
// closed form for a narrow band, 1/(2πf·√(2·E/N0)), within what its rise adds
// (Cramér-Rao for the delay of a known signal, from memory).
func TestNoiseAndBound(t *testing.T) {
	const hz, snrDB = 2500.0, 20.0
	_, bound := noiseAndBound(hz, snrDB)
	n := (copyBeforeS + copyAfterS) * copyRate
	energy := n * math.Pow(10, snrDB/10) // Σs²/σ²
	want := 1 / (2 * math.Pi * hz * math.Sqrt(energy))
	if math.Abs(bound/want-1) > 0.02 {
		t.Errorf("bound %.4g s, want about %.4g s", bound, want)
	}
}

func TestCopiesInNoise(t *testing.T) {
	figures := figuresOf(t, copiesInNoise(), 1)
	if len(figures) != 2 {
		t.Fatal(figures)
	}
	for _, f := range figures {
		if f.Missed() || f.Value < 0.7 {
			t.Errorf("%s: nothing unbiased scatters less than the bound", f)
		}
	}
}

// figuresOf are those of some takes of each trap of a family.
func figuresOf(t *testing.T, kind family, takes int) []target.Figure {
	t.Helper()
	h, _ := bare()
	kind.takes = func(int) int { return takes }
	figures, err := kind.measure(t.Context(), h, accuracyFlags{first: 1})
	if err != nil {
		t.Fatal(err)
	}
	return figures
}
