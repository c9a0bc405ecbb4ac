package signal_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

// sweepTakes is how many takes the sweep measures.
var sweepTakes = deeptest.Of(12, 48)

// TestSweep measures takes of the simulated machine over its voices, tempi of 50
// to 160 BPM, lags of −150 to 300 ms and noise down to 20 dB below the hits, and
// compares hits and lags with what was played. The machine is a model; what it
// proves is the arithmetic, see the tests on recorded drums for the rest.
func TestSweep(t *testing.T) {
	t.Parallel()
	m := practice.Default()
	var hitErrors, lagErrors []float64
	heard, played, covered := 0, 0, 0
	for seed := range uint64(sweepTakes) {
		r := rand.New(rand.NewPCG(seed, 99))
		v := m.Voices[seed%3]
		period := 60000 / (50 + 110*r.Float64())
		lag := -150 + 450*r.Float64()
		p := practice.Play{
			Voice: v.Name, TempoBPM: 60000 / period, Seed: seed, Hits: 8,
			Setting: int(math.Round((m.LagMS(v.Name, period, 0) - lag) / (period * m.Plate.StepBeats()))),
			Disturb: practice.Disturb{NoiseDB: -50 + 30*r.Float64()},
		}
		rec, truth := m.Play(p)
		got := must.Get(signal.Measure(context.Background(), rec, signal.Options{}))(t)
		for _, c := range [][2][]float64{{truth.ReferenceHitsS, got.ReferenceHitsS}, {truth.VoiceHitsS, got.VoiceHitsS}} {
			_, n := calib.FMeasure(c[0], c[1], 0.005)
			heard, played = heard+2*n, played+len(c[0])+len(c[1])
			hitErrors = append(hitErrors, errorsMS(c[0], c[1])...)
		}
		var law float64
		for _, p1 := range truth.PeriodsMS {
			law += m.LagMS(v.Name, p1, p.Setting) / float64(len(truth.PeriodsMS))
		}
		beats := got.ReferencePeriodMS * math.Round((truth.MeanLagMS-got.LagMS)/got.ReferencePeriodMS)
		lagErrors = append(lagErrors, got.LagMS+beats-truth.MeanLagMS)
		if lo, hi := got.LagCI95MS[0]+beats, got.LagCI95MS[1]+beats; lo <= law && law <= hi {
			covered++
		}
	}
	f := float64(heard) / float64(played)
	hitErrors, lagErrors = magnitudes(hitErrors), magnitudes(lagErrors)
	t.Logf("hits: F at 5 ms %.4f, error median %.4f ms, 95 %% within %.3f ms", f, quantile(hitErrors, 0.5), quantile(hitErrors, 0.95))
	t.Logf("lags: error median %.4f ms, 95 %% within %.3f ms; law within the 95 %% interval in %d of %d takes",
		quantile(lagErrors, 0.5), quantile(lagErrors, 0.95), covered, sweepTakes)
	if f < 0.995 || quantile(hitErrors, 0.5) > 0.05 || quantile(hitErrors, 0.95) > 0.3 {
		t.Error("hits miss their targets")
	}
	if quantile(lagErrors, 0.5) > 0.15 || quantile(lagErrors, 0.95) > 1 {
		t.Error("lags miss their targets")
	}
	n := float64(sweepTakes)
	if float64(covered) < 0.95*n-2.5*math.Sqrt(0.95*0.05*n) { // two standard deviations and a half of a binomial count
		t.Error("the intervals claim too much")
	}
}

// errorsMS returns, for each true time with a heard one within 5 ms, the error.
func errorsMS(truth, heard []float64) []float64 {
	var e []float64
	for _, x := range truth {
		best := math.Inf(1)
		for _, y := range heard {
			if d := 1000 * (y - x); math.Abs(d) < math.Abs(best) {
				best = d
			}
		}
		if math.Abs(best) <= 5 {
			e = append(e, best)
		}
	}
	return e
}

// TestTraps measures takes that each have one thing wrong with them: one of the
// seeds each, unless all are to be tried.
func TestTraps(t *testing.T) {
	t.Parallel()
	m := practice.Default()
	with := func(d practice.Disturb) practice.Play { return practice.Play{Disturb: d} }
	for i, trap := range []struct {
		name   string
		play   practice.Play
		lagMS  [2]float64
		within float64 // ms, the worst lag error of a take
	}{
		{"as it is", practice.Play{}, [2]float64{-150, 300}, 0.1},
		{"tight", practice.Play{}, [2]float64{-4, 4}, 1},
		{"tight over a loud leak", with(practice.Disturb{LeakDB: -15}), [2]float64{-4, 4}, 1},
		{"loud leak", with(practice.Disturb{LeakDB: -12}), [2]float64{-150, 300}, 0.3},
		{"loud leak every fourth", practice.Play{Every: 4, Hits: 4, Disturb: practice.Disturb{LeakDB: -12}}, [2]float64{-150, 300}, 0.3},
		{"every eighth", practice.Play{Every: 8, Hits: 3}, [2]float64{-150, 300}, 0.3},
		{"four references a beat", practice.Play{PerBeat: 4}, [2]float64{-40, 40}, 0.3},
		{"three hits", practice.Play{Hits: 3}, [2]float64{-150, 300}, 0.3},
		{"hum", with(practice.Disturb{HumDB: -6}), [2]float64{-150, 300}, 0.3},
		{"quiet", practice.Play{PeakDBFS: -50}, [2]float64{-150, 300}, 0.1},
		{"too hot", with(practice.Disturb{GainDB: 14}), [2]float64{-150, 300}, 0.3},
		{"double drops", with(practice.Disturb{DoubleShare: 0.25}), [2]float64{-150, 300}, 0.5},
		{"gate clunk", with(practice.Disturb{ClunkDB: -15}), [2]float64{-150, 300}, 0.3},
		{"clatter", with(practice.Disturb{ClatterDB: -12}), [2]float64{-150, 300}, 0.3},
		{"rolling", with(practice.Disturb{RollDB: -30}), [2]float64{-150, 300}, 0.3},
		{"unsteady crank", with(practice.Disturb{WowPct: 2, DriftPct: 3}), [2]float64{-150, 300}, 0.3},
		{"8 kHz", practice.Play{Rate: 8000}, [2]float64{-150, 300}, 0.3},
		{"384 kHz", practice.Play{Rate: 384000, Hits: 3}, [2]float64{-150, 300}, 0.3},
	} {
		t.Run(trap.name, func(t *testing.T) {
			t.Parallel()
			if trap.play.Rate == 0 && trap.lagMS[1] > 4 && !deeptest.On() { // tight strikes need the usual rate
				trap.play.Rate = 16000
			}
			var e []float64
			for k := range deeptest.Of(1, 3) {
				seed := uint64(i+k) % 3
				e = append(e, trapError(t, m, trap.play, trap.lagMS, seed))
			}
			e = magnitudes(e)
			t.Logf("lag error median %.4f ms, worst %.3f ms", quantile(e, 0.5), quantile(e, 1))
			if quantile(e, 0.5) > 0.15 || quantile(e, 1) > trap.within {
				t.Errorf("want median within 0.15 ms and worst within %g ms", trap.within)
			}
		})
	}
}

// trapError plays and measures a take at a lag drawn from a range, and returns
// the error of the lag, up to whole reference periods, against the true lags of
// the hits that were used.
func trapError(t *testing.T, m practice.Machine, p practice.Play, lagMS [2]float64, seed uint64) float64 {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 7))
	v := m.Voices[seed%3]
	period := 60000 / (50 + 110*r.Float64())
	lag := lagMS[0] + (lagMS[1]-lagMS[0])*r.Float64()
	p.Voice, p.TempoBPM, p.Seed = v.Name, 60000/period, seed
	p.Setting = int(math.Round((m.LagMS(v.Name, period, 0) - lag) / (period * m.Plate.StepBeats())))
	rec, truth := m.Play(p)
	got := must.Get(signal.Measure(context.Background(), rec, signal.Options{Every: p.Every, PerBeat: p.PerBeat}))(t)
	if len(truth.VoiceHitsS) > 4*got.Used()/3+1 {
		t.Errorf("seed %d: %d pairs used of %d", seed, got.Used(), len(truth.VoiceHitsS))
	}
	want, n := 0.0, 0.0
	for _, pair := range got.Pairs {
		for i, s := range truth.VoiceHitsS {
			if pair.Used && math.Abs(s-pair.VoiceS) < 0.005 {
				want, n = want+truth.LagsMS[i], n+1
			}
		}
	}
	e := got.LagMS - want/n
	return e - got.ReferencePeriodMS*math.Round(e/got.ReferencePeriodMS)
}
