package playback

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// The clicks lie on the grid of the tempo to half a sample however long they
// click and in whatever pieces they are asked for.
func TestClickKeepsItsGrid(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		tempo := rapid.Float64Range(30, 240).Draw(t, "tempo")
		rate := rapid.SampledFrom([]float64{8000, 44100, 48000}).Draw(t, "rate")
		c := NewClick(tempo, rate, 0.1)
		x := make([]float32, int(20*rate))
		for rest := x; len(rest) > 0; {
			n := min(len(rest), rapid.IntRange(1, 40000).Draw(t, "piece"))
			c.Fill(rest[:n])
			rest = rest[n:]
		}
		sound := ClickSound(rate)
		for beat := 0; ; beat++ {
			exact := float64(beat) * 60 / tempo * rate
			at := int(c.FrameOf(int64(beat)))
			if math.Abs(float64(at)-exact) > 0.5+1e-6 {
				t.Fatalf("beat %d at sample %d, want %g", beat, at, exact)
			}
			if at+len(sound) > len(x) {
				break
			}
			gain := 0.1 * math.Pow(10, -24*math.Max(1-float64(beat)/4, 0)/20)
			for i, v := range sound {
				if math.Abs(float64(x[at+i])-gain*float64(v)) > 1e-6 {
					t.Fatalf("beat %d, sample %d: %g, want %g", beat, i, x[at+i], gain*float64(v))
				}
			}
			if at > 0 && x[at-1] != 0 {
				t.Fatalf("something sounds before beat %d", beat)
			}
		}
	})
}

func TestClickIsQuietAtFirst(t *testing.T) {
	c := NewClick(60, 8000, ClickLevel)
	x := make([]float32, 8000)
	before := 0.0
	for beat := range 6 {
		c.Fill(x)
		p := peak(x)
		if beat == 0 && p > 0.007 || beat > 0 && beat <= 4 && p <= before || beat > 4 && p != before || p > ClickLevel {
			t.Errorf("beat %d peaks at %g after %g", beat, p, before)
		}
		before = p
	}
	if n := testing.AllocsPerRun(100, func() { c.Fill(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// played is the hits of a player who follows a click by ear, at a tempo a share off,
// with a scatter in ms.
func played(seed uint64, g Grid, n int, off, scatterMS float64) []float64 {
	r := rand.New(rand.NewPCG(seed, 3))
	hits := make([]float64, n)
	for i := range hits {
		hits[i] = g.FirstS + 0.03 + float64(i)*g.PeriodS*(1+off) + scatterMS/1000*r.NormFloat64()
	}
	return hits
}

// Hits that are the click are told from those of a crank: people who follow a beat
// scatter by 20 ms and more (Repp 2005 reviews it; the figure is common practice,
// no published source), and a motor that is off by a thousandth drifts through.
func TestBleed(t *testing.T) {
	g := Grid{FirstS: 0.4, PeriodS: 0.714}
	for seed := range uint64(50) {
		if b := BleedOf(played(seed, g, 30, 0, 15), g); b.Heard() {
			t.Errorf("seed %d: a player counts as the click: %+v", seed, b)
		}
		if b := BleedOf(played(seed, g, 30, 0.001, 0.5), g); b.Heard() {
			t.Errorf("seed %d: a motor counts as the click: %+v", seed, b)
		}
		click := played(seed, g, 30, 0, 0.4)
		own := played(seed+100, Grid{0.55, 0.714}, 30, 0, 15)
		b := BleedOf(append(own, click[:27]...), g)
		if !b.Heard() || b.Locked < 26 {
			t.Errorf("seed %d: the click was not heard: %+v", seed, b)
		}
	}
	if BleedOf(nil, g).Heard() || BleedOf([]float64{1, 2, 3}, Grid{}).Heard() {
		t.Error("heard in nothing")
	}
	if w := (Bleed{}).Warning(2); w.Code != WarnClick || w.Text == "" {
		t.Errorf("%+v", w)
	}
}
