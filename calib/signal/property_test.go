package signal_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib/signal"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

// knocks is a channel of four knocks of different loudness in noise.
func knocks(seed uint64, rate float64) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := hiss(r, int(1.9*rate), 0.003)
	sound := knock(rate, 700+600*r.Float64(), 0.03)
	for i := range 4 {
		lay(x, sound, int(rate*(0.2+0.4*float64(i)+0.05*r.Float64())), 0.3+0.6*r.Float64())
	}
	return x
}

func hitTimes(t *rapid.T, x []float32, rate float64) []float64 {
	hits := must.Get(signal.Hits(context.Background(), &memory{rate, [][]float32{x}}, 1))(t)
	s := make([]float64, len(hits))
	for i, h := range hits {
		s[i] = h.TimeS
	}
	return s
}

func sameTimes(t *rapid.T, what string, want, got []float64, shiftS, tolMS float64) {
	if len(want) != len(got) || len(want) != 4 {
		t.Fatalf("%s: %d hits became %d, want 4", what, len(want), len(got))
	}
	for i := range want {
		if d := 1000 * (got[i] - want[i] - shiftS); math.Abs(d) > tolMS {
			t.Fatalf("%s moves hit %d by %.4f ms", what, i+1, d)
		}
	}
}

var rates = []float64{8000, 22050, 44100, 48000}

func TestGainAndOffsetDoNotMoveHits(t *testing.T) {
	t.Parallel()
	deeptest.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom(rates).Draw(t, "rate")
		x := knocks(rapid.Uint64Range(1, 1000).Draw(t, "seed"), rate)
		gain := math.Pow(10, rapid.Float64Range(math.Log10(0.003), 0).Draw(t, "log gain"))
		offset := rapid.Float64Range(-0.1, 0.1).Draw(t, "offset")
		y := make([]float32, len(x))
		for i, v := range x {
			y[i] = float32(gain*float64(v) + gain*offset)
		}
		sameTimes(t, "gain and offset", hitTimes(t, x, rate), hitTimes(t, y, rate), 0, 0.05)
	})
}

func TestShiftShiftsHits(t *testing.T) {
	t.Parallel()
	deeptest.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom(rates).Draw(t, "rate")
		seed := rapid.Uint64Range(1, 1000).Draw(t, "seed")
		n := rapid.IntRange(1, 20000).Draw(t, "samples")
		x := knocks(seed, rate)
		y := append(hiss(rand.New(rand.NewPCG(seed, 2)), n, 0.003), x...)
		sameTimes(t, "shift", hitTimes(t, x, rate), hitTimes(t, y, rate), float64(n)/rate, 0.02)
	})
}

func TestPolarityDoesNotMoveHits(t *testing.T) {
	t.Parallel()
	deeptest.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom(rates).Draw(t, "rate")
		x := knocks(rapid.Uint64Range(1, 1000).Draw(t, "seed"), rate)
		y := make([]float32, len(x))
		for i, v := range x {
			y[i] = -v
		}
		sameTimes(t, "polarity", hitTimes(t, x, rate), hitTimes(t, y, rate), 0, 0.001)
	})
}

// TestJunk measures what no recorder makes: no panic, no NaN, hits in order.
func TestJunk(t *testing.T) {
	t.Parallel()
	deeptest.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{8000, 11025, 48000, 384000}).Draw(t, "rate")
		n := rapid.IntRange(0, 30000).Draw(t, "samples")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		take := &memory{rate, [][]float32{hiss(r, n, 1e-3*r.Float64()), hiss(r, n, 0)}}
		odd := []float32{1, -1, 0.5, float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), 3e38}
		for range rapid.IntRange(0, 40).Draw(t, "oddities") {
			x := take.samples[r.IntN(2)]
			for i := r.IntN(n + 1); i < n && r.IntN(20) > 0; i++ {
				x[i] = odd[r.IntN(len(odd))]
			}
		}
		got := must.Get(signal.Measure(context.Background(), take, signal.Options{}))(t)
		if got.LagMS != got.LagMS || got.TempoBPM != got.TempoBPM || got.JitterMS != got.JitterMS {
			t.Fatalf("the reading is no number: %+v", got)
		}
		for i := 1; i < len(got.VoiceHitsS); i++ {
			if got.VoiceHitsS[i] < got.VoiceHitsS[i-1] {
				t.Fatalf("hits out of order: %v", got.VoiceHitsS)
			}
		}
	})
}
