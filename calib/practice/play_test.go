package practice

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
)

// quiet returns a knob setting with nothing on but what change switches on.
func quiet(change func(*Disturb)) Disturb {
	d := Quiet()
	if change != nil {
		change(&d)
	}
	return d
}

// window returns the samples of a channel from one time in s to another.
func window(r calib.Recording, channel int, fromS, toS float64) []float32 {
	s := r.Samples[channel-1]
	from, to := int(math.Round(fromS*r.RateHz)), int(math.Round(toS*r.RateHz))
	return s[max(from, 0):min(to, len(s))]
}

// TestHitsStartWhereTruthSays: in a take without noise each channel is silent
// before a hit and sounds within a sample after it.
func TestHitsStartWhereTruthSays(t *testing.T) {
	m := Default()
	for _, rate := range []float64{8000, 44100, 48000, 96000} {
		for _, v := range m.Voices {
			p := Play{Voice: v.Name, TempoBPM: 63, Hits: 4, Every: 4, Rate: rate, Seed: 5, Disturb: Quiet()}
			rec, truth := m.Play(p)
			checkStarts(t, fmt.Sprintf("%s at %g Hz, reference", v.Name, rate), rec, 1, truth.ReferenceHitsS)
			checkStarts(t, fmt.Sprintf("%s at %g Hz, voice", v.Name, rate), rec, 2, truth.VoiceHitsS)
		}
	}
}

func checkStarts(t *testing.T, what string, rec calib.Recording, channel int, hitsS []float64) {
	t.Helper()
	const floor = 1e-5 // −100 dBFS, where strikes are cut off
	for _, hit := range hitsS {
		before := int(math.Ceil(hit*rec.RateHz)) - 1 // last sample not after the hit
		s := rec.Samples[channel-1]
		if got := peakOf(s[before-int(rec.RateHz/50) : before+1]); got > floor {
			t.Errorf("%s: sounds at %g before the hit at %.6f s", what, got, hit)
		}
		if got := peakOf(s[before+1 : before+3]); got < 10*floor {
			t.Errorf("%s: hit at %.6f s does not sound within a sample after", what, hit)
		}
	}
}

func TestLagsFollowTheLaw(t *testing.T) {
	m := Default()
	m.JitterMS = 0
	deeptest.Check(t, func(t *rapid.T) {
		p := Play{
			Voice:    rapid.SampledFrom(m.Voices).Draw(t, "voice").Name,
			TempoBPM: rapid.Float64Range(45, 200).Draw(t, "tempo"),
			Setting:  rapid.IntRange(-100, 100).Draw(t, "setting"),
			Hits:     rapid.IntRange(1, 20).Draw(t, "hits"),
			Every:    rapid.IntRange(1, 4).Draw(t, "every"),
			PerBeat:  rapid.IntRange(1, 4).Draw(t, "per beat"),
			Seed:     rapid.Uint64().Draw(t, "seed"),
		}
		truth := schedule(m, p.filled(), m.Habit).truth
		for i, lag := range truth.LagsMS {
			if want := m.LagMS(p.Voice, truth.PeriodsMS[i], p.Setting); math.Abs(lag-want) > 1e-5 {
				t.Fatalf("hit %d lags %g ms, the law says %g", i, lag, want)
			}
			aim := 60000 / p.TempoBPM
			if off := math.Abs(truth.PeriodsMS[i]/aim - 1); off > (m.Habit.WowPct+m.Habit.DriftPct)/100+1e-9 {
				t.Fatalf("hit %d: the period is off by a share of %g", i, off)
			}
			nearest := nearestOf(truth.ReferenceHitsS, truth.VoiceHitsS[i]-lag/1000)
			if math.Abs(nearest) > 1e-9 {
				t.Fatalf("hit %d: its reference hit is %g s off", i, nearest)
			}
		}
		checkSpan(t, truth)
	})
}

func nearestOf(hitsS []float64, at float64) float64 {
	best := math.Inf(1)
	for _, h := range hitsS {
		if math.Abs(h-at) < math.Abs(best) {
			best = h - at
		}
	}
	return best
}

// checkSpan: the reference is heard before the first voice hit and after the
// last.
func checkSpan(t *rapid.T, truth Truth) {
	refs, hits := truth.ReferenceHitsS, truth.VoiceHitsS
	if len(hits) == 0 {
		return
	}
	if refs[0] < 0.5 || refs[0] > slices.Min(hits) || refs[len(refs)-1] < slices.Max(hits) {
		t.Fatalf("reference from %g to %g s, voice from %g to %g s", refs[0], refs[len(refs)-1], hits[0], hits[len(hits)-1])
	}
}

// TestJitter: lags scatter about the law by the machine's jitter. Four hundred
// hits give its standard deviation to 1/√800 = 3.5 %, so 15 % is four sigma.
func TestJitter(t *testing.T) {
	m := Default()
	p := Play{Voice: "elm block", Hits: 400, Seed: 11}.filled()
	truth := schedule(m, p, m.Habit).truth
	var off []float64
	for i, lag := range truth.LagsMS {
		off = append(off, lag-m.LagMS(p.Voice, truth.PeriodsMS[i], 0))
	}
	mean, sd := stat.MeanStdDev(off, nil)
	if math.Abs(sd/m.JitterMS-1) > 0.15 {
		t.Errorf("jitter %.3f ms, want %g", sd, m.JitterMS)
	}
	if math.Abs(mean) > 4*m.JitterMS/20 {
		t.Errorf("lags are off the law by %.3f ms on average", mean)
	}
	if got := stat.Mean(truth.LagsMS, nil); math.Abs(truth.MeanLagMS-got) > 1e-9 {
		t.Errorf("mean lag %g, want %g", truth.MeanLagMS, got)
	}
}

func TestTempo(t *testing.T) {
	m := Default()
	_, truth := m.Play(Play{TempoBPM: 88, PerBeat: 2, Disturb: Quiet(), Seed: 3})
	if math.Abs(truth.TempoBPM-88) > 1e-9 {
		t.Errorf("a steady hand plays %g BPM, want 88", truth.TempoBPM)
	}
	for i, step := range steps(truth.ReferenceHitsS) {
		if math.Abs(step-60.0/88/2) > 1e-9 {
			t.Errorf("reference hit %d after %g s, want half a beat", i, step)
		}
	}
	_, truth = m.Play(Play{TempoBPM: 88, Hits: 60, Seed: 3})
	if off := math.Abs(truth.TempoBPM/88 - 1); off > 0.016 || off == 0 {
		t.Errorf("tempo off by a share of %g", off)
	}
}

func steps(x []float64) []float64 {
	d := make([]float64, len(x)-1)
	for i := range d {
		d[i] = x[i+1] - x[i]
	}
	return d
}

// TestWow: within a turn of the crank the beat period swings by the stated
// share and no more.
func TestWow(t *testing.T) {
	m := Default()
	m.CrankTurnsPerBeat = 0.25
	p := Play{TempoBPM: 60, Hits: 24, PerBeat: 16}.filled()
	truth := schedule(m, p, quiet(func(d *Disturb) { d.WowPct = 2 })).truth
	periods := steps(truth.ReferenceHitsS)
	low, high := 16*slices.Min(periods), 16*slices.Max(periods)
	if math.Abs(low-0.98) > 2e-4 || math.Abs(high-1.02) > 2e-4 {
		t.Errorf("beat period from %.5f to %.5f s, want 0.98 to 1.02", low, high)
	}
}

// TestMishaps: 4000 drops show a share of 0.1 to 0.0047 (binomial), so 0.02 is
// four sigma.
func TestMishaps(t *testing.T) {
	m := Default()
	p := Play{Hits: 4000, Seed: 2}.filled()
	truth := schedule(m, p, quiet(func(d *Disturb) { d.MissedShare, d.DoubleShare = 0.1, 0.1 })).truth
	missed := float64(truth.Missed) / 4000
	double := float64(len(truth.DoubleHitsS)) / float64(len(truth.VoiceHitsS))
	if math.Abs(missed-0.1) > 0.02 || math.Abs(double-0.1) > 0.02 {
		t.Errorf("missed a share of %.3f and doubled %.3f, want 0.1", missed, double)
	}
	if n := len(truth.VoiceHitsS); n+truth.Missed != 4000 || len(truth.LagsMS) != n || len(truth.PeriodsMS) != n {
		t.Errorf("%d hits, %d lags and %d missed of 4000 drops", n, len(truth.LagsMS), truth.Missed)
	}
	calm := schedule(m, p, Quiet()).truth
	if calm.Missed != 0 || len(calm.DoubleHitsS) != 0 {
		t.Error("a quiet take has mishaps")
	}
}

func TestMissedDropIsSilent(t *testing.T) {
	m := Default()
	rec, truth := m.Play(Play{Disturb: quiet(func(d *Disturb) { d.MissedShare = 1 })})
	if got := peakOf(rec.Samples[1]); got != 0 || !math.IsNaN(truth.MeanLagMS) {
		t.Errorf("voice channel peaks at %g, mean lag %g", got, truth.MeanLagMS)
	}
}

func TestDoubleHitSounds(t *testing.T) {
	m := Default()
	rec, truth := m.Play(Play{Voice: "elm block", Disturb: quiet(func(d *Disturb) { d.DoubleShare = 1 })})
	if len(truth.DoubleHitsS) != 12 {
		t.Fatalf("%d of 12 drops are double", len(truth.DoubleHitsS))
	}
	for _, at := range truth.DoubleHitsS {
		before, after := peakOf(window(rec, 2, at-0.004, at)), peakOf(window(rec, 2, at, at+0.004))
		if after < 2*before {
			t.Errorf("second hit at %.3f s peaks at %.3f after %.3f", at, after, before)
		}
	}
}

// TestRebound: shot that keeps a share e of its speed v comes back after 2ev/g,
// which is 2e fall times.
func TestRebound(t *testing.T) {
	m := Default()
	rec, truth := m.Play(Play{Voice: "elm block", Every: 2, Disturb: Quiet()})
	v, _ := m.Voice("elm block")
	again := 2 * v.Rebound * (v.DelayMS() - v.GateMS) / 1000
	for _, hit := range truth.VoiceHitsS {
		at := hit + again
		before, after := peakOf(window(rec, 2, at-0.01, at-0.0001)), peakOf(window(rec, 2, at, at+0.01))
		share := after / peakOf(window(rec, 2, hit, hit+0.01))
		if after < 10*before || share < 0.45*v.Rebound || share > 1.05*v.Rebound {
			t.Errorf("rebound at %.3f s is %.3f of its hit, %.5f just before", at, share, before)
		}
	}
}

func TestLeakLevel(t *testing.T) {
	m := Default()
	for _, leakDB := range []float64{-20, -26} {
		d := quiet(func(d *Disturb) { d.LeakDB = leakDB; d.MissedShare = 1 })
		rec, truth := m.Play(Play{Disturb: d})
		for _, at := range truth.ReferenceHitsS {
			own, other := window(rec, 1, at, at+0.02), window(rec, 2, at, at+0.02)
			if got := 20 * math.Log10(peakOf(other)/peakOf(own)); math.Abs(got-leakDB) > 0.3 {
				t.Errorf("leak at %.2f dB, want %g", got, leakDB)
			}
			delay := m.FrameMS / 1000
			if got := peakOf(window(rec, 2, at-0.01, at+delay-1e-4)); got > 1e-5 {
				t.Errorf("leak arrives before the frame carries it: %g", got)
			}
		}
	}
}

func TestGateClunksAFallBeforeTheHit(t *testing.T) {
	m := Default()
	rec, truth := m.Play(Play{Voice: "brass bar", Every: 4, Disturb: quiet(func(d *Disturb) { d.ClunkDB = -20 })})
	v, _ := m.Voice("brass bar")
	for _, hit := range truth.VoiceHitsS {
		at := hit - (v.DelayMS()-v.GateMS)/1000
		got := 20*math.Log10(peakOf(window(rec, 2, at, at+0.02))) + 8
		if math.Abs(got+20) > 0.3 || peakOf(window(rec, 2, at-0.02, at-1e-4)) > 1e-5 {
			t.Errorf("gate at %.2f dB, want -20", got)
		}
	}
}

func TestClatterFollowsTheHit(t *testing.T) {
	m := Default()
	rec, truth := m.Play(Play{PerBeat: 1, Every: 8, TempoBPM: 60, Hits: 3, Disturb: quiet(func(d *Disturb) { d.ClatterDB = -12 })})
	for _, hit := range truth.VoiceHitsS {
		got := 20*math.Log10(peakOf(window(rec, 1, hit+0.19, hit+0.48))) + 8
		if math.Abs(got+12) > 0.3 {
			t.Errorf("clatter on the reference at %.2f dB, want -12", got)
		}
	}
}

// TestNoiseLevels measures each noise alone, before the first hit and after
// none: four seconds of lead.
func TestNoiseLevels(t *testing.T) {
	m := Default()
	rms := func(d Disturb, channel int) float64 {
		rec, _ := m.Play(Play{Hits: 1, LeadS: 4, Seed: 9, Disturb: d})
		var sum float64
		quietPart := window(rec, channel, 0, 4)
		for _, x := range quietPart {
			sum += float64(x) * float64(x)
		}
		return 10*math.Log10(sum/float64(len(quietPart))) + 8
	}
	// A sine of peak 1 with a third harmonic of 0.4 has r.m.s. √(1.16/2).
	humRMS := 10 * math.Log10(1.16/2)
	for channel := 1; channel <= 2; channel++ {
		for _, tc := range []struct {
			name string
			d    Disturb
			want float64
		}{
			{"noise", quiet(func(d *Disturb) { d.NoiseDB = -18 }), -18},
			{"hum", quiet(func(d *Disturb) { d.HumDB = -30 }), -30 + humRMS},
			{"roll", quiet(func(d *Disturb) { d.RollDB = -24 }), -24},
		} {
			if got := rms(tc.d, channel); math.Abs(got-tc.want) > 0.4 {
				t.Errorf("%s on channel %d at %.2f dB r.m.s., want %.2f", tc.name, channel, got, tc.want)
			}
		}
	}
}

func TestBellIsNearlyNormal(t *testing.T) {
	r := luck(1, 1)
	x := make([]float64, 100000)
	for i := range x {
		x[i] = bell(r.Uint64())
	}
	mean, sd := stat.MeanStdDev(x, nil)
	// The sum of four uniform numbers has excess kurtosis −1.2/4.
	if k := stat.ExKurtosis(x, nil); math.Abs(mean) > 0.015 || math.Abs(sd-1) > 0.01 || math.Abs(k+0.3) > 0.05 {
		t.Errorf("mean %.4f, sd %.4f, excess kurtosis %.3f", mean, sd, k)
	}
}

// TestUsualLevel: with the machine's habits the take peaks about −8 dBFS, within
// two standard deviations of loudness and half a dB of noise, and never clips.
func TestUsualLevel(t *testing.T) {
	m := Default()
	for _, v := range m.Voices {
		rec, _ := m.Play(Play{Voice: v.Name, Seed: 4})
		for channel := 1; channel <= 2; channel++ {
			got := 20 * math.Log10(peakOf(rec.Samples[channel-1]))
			if math.Abs(got+8) > 2*spreadDB+1 {
				t.Errorf("%s: channel %d peaks at %.1f dBFS", v.Name, channel, got)
			}
		}
	}
}

func TestRecorder(t *testing.T) {
	m := Default()
	dc, _ := m.Play(Play{Disturb: quiet(func(d *Disturb) { d.DCOffset = -0.03 })})
	if got := dc.Samples[0][0]; math.Abs(float64(got)+0.03) > 1e-6 {
		t.Errorf("offset %g, want -0.03", got)
	}
	plain, truth := m.Play(Play{Disturb: Quiet()})
	hot, _ := m.Play(Play{Disturb: quiet(func(d *Disturb) { d.GainDB = 20 })})
	for i, x := range plain.Samples[1] {
		want := min(max(10*x, -1), 1)
		if math.Abs(float64(hot.Samples[1][i]-want)) > 1e-6 {
			t.Fatalf("20 dB make %g of %g", hot.Samples[1][i], x)
		}
	}
	swapped, other := m.Play(Play{Disturb: quiet(func(d *Disturb) { d.Swapped = true })})
	if !slices.Equal(swapped.Samples[0], plain.Samples[1]) || !reflect.DeepEqual(truth, other) {
		t.Error("swapped cables do more than swap channels")
	}
}

func TestBrokenCables(t *testing.T) {
	m := Default()
	const deaf = 2e-4 // well above −90 dBFS r.m.s., well below the habitual noise
	dead, _ := m.Play(Play{Disturb: Disturb{DeadChannel: 2}})
	if two, one := peakOf(dead.Samples[1]), peakOf(dead.Samples[0]); two > deaf || one < 0.2 {
		t.Errorf("dead channel 2 peaks at %g, channel 1 at %g", two, one)
	}
	rec, _ := m.Play(Play{Disturb: Disturb{DropOut: 1}})
	n := len(rec.Samples[0])
	if in := peakOf(rec.Samples[0][2*n/5 : 3*n/5]); in > deaf {
		t.Errorf("drop-out peaks at %g", in)
	}
	if before, after := peakOf(rec.Samples[0][:2*n/5]), peakOf(rec.Samples[0][3*n/5:]); before < 0.2 || after < 0.2 {
		t.Errorf("around the drop-out channel 1 peaks at %g and %g", before, after)
	}
}

func TestSameSeedSameTake(t *testing.T) {
	m := Default()
	p := Play{Voice: "brass bar", Seed: 42}
	a, truthA := m.Play(p)
	b, truthB := m.Play(p)
	if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(truthA, truthB) {
		t.Error("the same seed plays two different takes")
	}
	p.Seed++
	c, truthC := m.Play(p)
	if slices.Equal(a.Samples[0], c.Samples[0]) || slices.Equal(truthA.LagsMS, truthC.LagsMS) {
		t.Error("another seed plays the same take")
	}
}

// TestOneKnobLeavesTheOthersAlone: noise does not change what is played.
func TestOneKnobLeavesTheOthersAlone(t *testing.T) {
	m := Default()
	_, usual := m.Play(Play{Seed: 6})
	_, noisy := m.Play(Play{Seed: 6, Disturb: Disturb{NoiseDB: -18, HumDB: None}})
	if !reflect.DeepEqual(usual, noisy) {
		t.Error("noise changes the hits")
	}
}

func TestPlayRefuses(t *testing.T) {
	for name, p := range map[string]Play{
		"voice": {Voice: "nobody"}, "tempo": {TempoBPM: -1}, "rate": {Rate: 4000}, "hits": {Hits: -1},
		"voice twice": {Others: []string{"tub drum"}}, "other voice": {Others: []string{"nobody"}},
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if s, _ := recover().(string); !strings.HasPrefix(s, "practice: ") {
					t.Errorf("panics with %q", s)
				}
			}()
			Default().Play(p)
		})
	}
}

// BenchmarkPlay renders half a minute of each voice.
func BenchmarkPlay(b *testing.B) {
	m := Default()
	for _, v := range m.Voices {
		b.Run(v.Name, func(b *testing.B) {
			for b.Loop() {
				m.Play(Play{Voice: v.Name, TempoBPM: 120, Hits: 57})
			}
		})
	}
}
