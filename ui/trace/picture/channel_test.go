package picture

import (
	"context"
	"testing"

	"lagwright/internal/i18ntest"
	"lagwright/internal/soundtest"
	"lagwright/ui/trace/wave"
)

// A usual hit fills its half; silence and a channel that is loud enough keep their size.
func TestGain(t *testing.T) {
	for peak, want := range map[float32]float64{0: 1, 1: 1, 0.5: 1.7, 0.001: 850, 1e-6: mostGain} {
		samples := make([]float32, 60*100)
		for i := range samples {
			samples[i] = peak
		}
		p, err := wave.Build(context.Background(), &soundtest.Memory{PerS: 100, All: [][]float32{samples}}, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := gain(p); got < want*0.999 || got > want*1.001 {
			t.Errorf("hits of %v are drawn ×%v, want ×%v", peak, got, want)
		}
	}
}

// Moments on the axis are phrases, with the comma of the language.
func TestTicksAreTold(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	for _, step := range []float64{60, 10, 0.5, 0.01} {
		texts = append(texts, label(90, step), label(2.5, step))
	}
	i18ntest.All(t, texts)
	if got := label(2.5, 0.5) + label(1234.5675, 0.0005); got != "⟦2,5 s⟧⟦1 234 567,5 ms⟧" {
		t.Errorf("%q", got)
	}
}
