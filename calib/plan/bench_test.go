package plan

import (
	"math/rand/v2"
	"testing"

	"lagwright/calib"
)

// BenchmarkShort fits sessions of few takes, which leave much open.
func BenchmarkShort(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	m := threeVoices
	takes := heardWithin(m.session([]float64{72, 152, 100, 72, 130}, []int{0, 33, 26, 16, 30}))
	for _, t := range takes {
		for v := range t.Heard {
			t.Heard[v].LagMS += 0.5 * rng.NormFloat64()
		}
	}
	for b.Loop() {
		fit, err := Fit(m.known(calib.Belief{Mean: m.step}), takes)
		if err != nil {
			b.Fatal(err)
		}
		fit.Make([]Song{{TempoBPM: 110}}, Bench{At: Place{Setting: 30}, All: true})
	}
}
