package plan

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// BenchmarkPlan fits machines with a scatter of 0.5 ms and plans their songs. The
// largest has 200 takes of 20 voices each and 100 songs.
func BenchmarkPlan(b *testing.B) {
	for _, size := range []struct{ takes, voices, songs int }{{5, 1, 1}, {5, 3, 12}, {20, 3, 12}, {60, 3, 20}, {200, 20, 100}} {
		b.Run(fmt.Sprintf("%d takes, %d voices, %d songs", size.takes, size.voices, size.songs), func(b *testing.B) {
			m := mill{step: 1.0 / 72}
			for v := range size.voices {
				m.delay, m.offset = append(m.delay, 190+2*float64(v)), append(m.offset, 0.002*float64(v-10))
			}
			rng := rand.New(rand.NewPCG(1, 2))
			var takes []Take
			var at Place
			for i := range size.takes {
				at = at.To(15 + i*7%20)
				t := m.take(i, 72+float64(i*37%80), at, at)
				for v := range t.Heard {
					t.Heard[v].LagMS += 0.5 * rng.NormFloat64()
				}
				takes = append(takes, t)
			}
			heardWithin(takes)
			var songs []Song
			for i := range size.songs {
				songs = append(songs, Song{TempoBPM: 60 + float64(i)})
			}
			for b.Loop() {
				fit := must.Get(Fit(m.known(calib.Belief{Mean: m.step}), takes))(b)
				fit.Plan(songs, Situation{At: at, All: true})
			}
		})
	}
}
