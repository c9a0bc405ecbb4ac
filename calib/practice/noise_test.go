package practice

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// loneStage returns the stage of a take in which nothing sounds but what the
// knobs say: every drop misses and the reference is silent.
func loneStage(m Machine, p Play, change func(*Disturb)) *stage {
	d := quiet(change)
	d.MissedShare = 1
	p = p.filled()
	st := newStage(m, p, d, schedule(m, p, d))
	st.blows[0] = nil
	return st
}

// strength returns the amplitude of the part of a sound that turns by as many
// cycles as phase says at each sample.
func strength(buf []float32, phase func(i int) float64) float64 {
	var sum complex128
	for i, x := range buf {
		sum += complex(float64(x), 0) * cmplx.Rect(1, -2*math.Pi*phase(i))
	}
	return 2 * cmplx.Abs(sum) / float64(len(buf))
}

func TestHarmonics(t *testing.T) {
	m := Default()
	m.MainsHz = 60
	st := loneStage(m, Play{Hits: 8}, func(d *Disturb) { d.HarmonicsDB = -10 })
	buf := st.render(1)
	peak := gain(-8 - 10)
	for n := 1; n <= 10; n++ {
		want := peak * []float64{0.5, 1}[n%2]
		if n == 1 || n == 10 {
			want = 0
		}
		got := strength(buf, func(i int) float64 { return 60 * float64(n) * float64(i) / st.rate })
		if math.Abs(got-want) > 0.02*peak {
			t.Errorf("harmonic %d has a peak of %.4f, want %.4f", n, got, want)
		}
	}
}

// TestMeshFollowsTheCrank: counted by the crank's own angle each tone is steady,
// however uneven the crank turns. A tone that swells by half in a turn, up to its
// peak, has two thirds of it on average.
func TestMeshFollowsTheCrank(t *testing.T) {
	m := Default()
	st := loneStage(m, Play{Hits: 16, Rate: 8000}, func(d *Disturb) { d.MeshDB, d.WowPct, d.DriftPct = -12, 2, 5 })
	buf := st.render(1)
	want := gain(-8-12) / 1.5
	for _, teeth := range meshTeeth {
		byCrank := strength(buf, func(i int) float64 { return teeth * m.CrankTurnsPerBeat * st.beat(float64(i)/st.rate) })
		byClock := strength(buf, func(i int) float64 { return teeth * m.CrankTurnsPerBeat * 96 / 60 * float64(i) / st.rate })
		if math.Abs(byCrank/want-1) > 0.05 || byClock > want/2 {
			t.Errorf("%g teeth: %.4f by the crank, %.4f by the clock; want %.4f and little", teeth, byCrank, byClock, want)
		}
	}
}

func TestBeatIsTheInverseOfAt(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		d := Disturb{WowPct: rapid.Float64Range(0, 4).Draw(t, "wow"), DriftPct: rapid.Float64Range(0, 10).Draw(t, "drift")}
		c := newCrank(Play{TempoBPM: rapid.Float64Range(48, 160).Draw(t, "tempo")}, 0.5, d, luck(rapid.Uint64().Draw(t, "seed"), luckCrank))
		want := rapid.Float64Range(-5, 200).Draw(t, "beat")
		if got := c.beat(c.at(want)); math.Abs(got-want) > 1e-9 {
			t.Fatalf("beat %.12f, want %.12f", got, want)
		}
	})
}

// TestSwellEndsWithTheStrike: the noise of 30 hits, each looked at for 6 ms in
// which it reaches 96 % of its strength on average, is known to about 1 dB.
func TestSwellEndsWithTheStrike(t *testing.T) {
	m := Default()
	p := Play{Hits: 30, Disturb: quiet(func(d *Disturb) { d.SwellDB = -20 })}
	rec, truth := m.Play(p)
	calm, _ := m.Play(Play{Hits: 30, Disturb: Quiet()})
	power := func(fromS, toS float64) float64 {
		var sum, n float64
		for _, hit := range truth.VoiceHitsS {
			was := window(calm, 2, hit+fromS, hit+toS)
			for i, x := range window(rec, 2, hit+fromS, hit+toS) {
				sum, n = sum+math.Pow(float64(x-was[i]), 2), n+1
			}
		}
		return 10 * math.Log10(sum/n)
	}
	if got := power(-0.006, 0) + 8; math.Abs(got+20-20*math.Log10(0.96)) > 1.5 {
		t.Errorf("%.2f dB r.m.s. before the strike, want -20", got)
	}
	if early := power(-0.2, -0.15); early > power(-0.05, 0)-6 {
		t.Errorf("it does not swell: %.1f dB early on", early)
	}
	if after := power(0.001, 0.05); !math.IsInf(after, -1) {
		t.Errorf("%.1f dB after the strike", after)
	}
}

// TestKnocks: the number of knocks in a take has a Poisson distribution, so four
// times its root is four sigma.
func TestKnocks(t *testing.T) {
	m := Default()
	st := loneStage(m, Play{Hits: 200}, func(d *Disturb) { d.KnockDB, d.KnocksPerS = -6, 2 })
	var knocks [2][]blow
	knocks[1] = st.blows[1]
	again := loneStage(m, Play{Hits: 200}, func(*Disturb) {})
	if len(again.blows[1]) != 0 {
		t.Fatalf("%d blows without knocks", len(again.blows[1]))
	}
	want := 2 * float64(st.frames) / st.rate
	if n := float64(len(knocks[1])); math.Abs(n-want) > 4*math.Sqrt(want) {
		t.Errorf("%g knocks, want about %.0f", n, want)
	}
	for _, b := range knocks[1] {
		if db := 20*math.Log10(b.peak) + 8; db > -6 || db < -6-12-6 {
			t.Errorf("a knock at %.1f dB, want -24 to -6", db)
		}
	}
}

// TestKnocksReachBoth: each knock is heard on both channels, no further apart
// than sound takes through the frame.
func TestKnocksReachBoth(t *testing.T) {
	m := Default()
	d := quiet(func(d *Disturb) { d.KnockDB, d.KnocksPerS = -6, 2 })
	st := &stage{rate: 48000, frames: 480000, seed: 3, peak: 1, m: m, d: d, blows: make([][]blow, 2)}
	st.setKnocks()
	if len(st.blows[0]) == 0 || len(st.blows[0]) != len(st.blows[1]) {
		t.Fatalf("%d and %d knocks", len(st.blows[0]), len(st.blows[1]))
	}
	for i, a := range st.blows[0] {
		if apart := 1000 * math.Abs(a.atS-st.blows[1][i].atS); apart > m.FrameMS+1e-9 {
			t.Errorf("knock %d is heard %.3f ms apart", i, apart)
		}
	}
}

// TestSpread: loudness ends at two standard deviations, so that 5 dB spread over
// 20; of a normal distribution 4.6 % lie beyond, and are laid on the ends.
func TestSpread(t *testing.T) {
	for db, want := range map[float64]float64{0: 4 * spreadDB, 5: 20, None: 0} {
		d := quiet(func(d *Disturb) { d.SpreadDB = db }).or(Disturb{})
		p := Play{Hits: 400}.filled()
		m := Default()
		st := newStage(m, p, d, schedule(m, p, d))
		low, high := math.Inf(1), math.Inf(-1)
		for _, b := range st.blows[0] {
			low, high = min(low, 20*math.Log10(b.peak)), max(high, 20*math.Log10(b.peak))
		}
		if math.Abs(high-low-want) > 1e-9 {
			t.Errorf("spread %g: loudness ranges over %.2f dB, want %g", db, high-low, want)
		}
	}
}

func TestRattle(t *testing.T) {
	s := Sound{ContactMS: 0.5, Modes: []Mode{{400, 0.1, 1}}, Rattle: 0.2, RattleS: 0.3}
	plain := s
	plain.Rattle = 0
	with, without := make([]float32, 48000), make([]float32, 48000)
	s.prepare(48000).strike(with, 0.1, 1)
	plain.prepare(48000).strike(without, 0.1, 1)
	var x []float64
	for i := range with {
		x = append(x, float64(with[i]-without[i]))
	}
	if got := stat.StdDev(x[4800+100:4800+580], nil); math.Abs(20*math.Log10(got/0.2)) > 1.5 {
		t.Errorf("rattles at %.3f r.m.s., want 0.2", got)
	}
	// Noise that falls by 60 dB in 0.3 s falls by 20 dB in 0.1 s.
	if fall := stat.StdDev(x[4800+4800:4800+5280], nil) / stat.StdDev(x[4800:4800+480], nil); math.Abs(20*math.Log10(fall)+20) > 2 {
		t.Errorf("falls to %.3f in a tenth of a second, want 0.1", fall)
	}
	if x[4799] != 0 {
		t.Error("rattles before the strike")
	}
}

func TestAccent(t *testing.T) {
	m := Default()
	d := quiet(func(d *Disturb) { d.SpreadDB = None })
	rec, truth := m.Play(Play{PerBeat: 3, AccentDB: 9, TempoBPM: 60, Disturb: d})
	for k, at := range truth.ReferenceHitsS {
		want := -8.0
		if k%3 != 0 {
			want -= 9
		}
		if got := 20 * math.Log10(peakOf(window(rec, 1, at, at+0.02))); math.Abs(got-want) > 0.3 {
			t.Errorf("reference hit %d peaks at %.2f dBFS, want %g", k, got, want)
		}
	}
}
