package picture

import (
	"context"
	"testing"

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
