package practice

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib"
)

func TestBits(t *testing.T) {
	rec, _ := Default().Play(Play{Disturb: Disturb{Bits: 8}})
	exact, _ := Default().Play(Play{})
	for i, x := range rec.Samples[1] {
		if steps := float64(x) * 128; steps != math.Trunc(steps) || math.Abs(float64(x-exact.Samples[1][i])) > 0.5/128+1e-7 {
			t.Fatalf("8 bits make %g of %g", x, exact.Samples[1][i])
		}
	}
}

// TestCableFaults: a fault spoils the stretches it names, on the channel it
// names, and nothing else.
func TestCableFaults(t *testing.T) {
	m := Default()
	whole, _ := m.Play(Play{Hits: 20, Disturb: Quiet()})
	for _, row := range []struct {
		code string
		set  func(*Disturb)
	}{
		{calib.WarnDropOut, func(d *Disturb) { d.DropOut = 2 }},
		{calib.WarnDropOut, func(d *Disturb) { d.DropOuts = 2 }},
		{calib.WarnDeadChannel, func(d *Disturb) { d.DeadChannel = 2 }},
		{calib.WarnCrackle, func(d *Disturb) { d.Crackle = 2 }},
		{calib.WarnHumBurst, func(d *Disturb) { d.HumBurst = 2 }},
	} {
		rec, truth := m.Play(Play{Hits: 20, Disturb: quiet(row.set)})
		if !slices.Equal(rec.Samples[0], whole.Samples[0]) {
			t.Errorf("%s: the other channel suffers", row.code)
		}
		mended := slices.Clone(rec.Samples[1])
		for _, f := range truth.Faults {
			from, to := int(math.Round(f.FromS*rec.RateHz)), int(math.Round(f.ToS*rec.RateHz))
			if f.Code != row.code || f.Channel != 2 || slices.Equal(mended[from:to], whole.Samples[1][from:to]) {
				t.Errorf("%s: fault %+v", row.code, f)
			}
			copy(mended[from:to], whole.Samples[1][from:to])
		}
		if len(truth.Faults) == 0 || !slices.Equal(mended, whole.Samples[1]) {
			t.Errorf("%s: %d faults do not tell all that is spoilt", row.code, len(truth.Faults))
		}
	}
}

func TestHeard(t *testing.T) {
	m := Default()
	for channel := 1; channel <= 2; channel++ {
		_, truth := m.Play(Play{Hits: 20, Disturb: quiet(func(d *Disturb) { d.DropOut = channel })})
		heard := truth.Heard()
		gone := len(truth.VoiceHitsS) - len(heard.VoiceHitsS)
		if gone < 2 || gone > 6 || len(heard.LagsMS) != len(heard.VoiceHitsS) || len(heard.PeriodsMS) != len(heard.VoiceHitsS) {
			t.Errorf("channel %d: a fifth of 20 hits drops out, %d are not heard", channel, gone)
		}
		for i, s := range heard.VoiceHitsS {
			f := truth.Faults[0]
			own := []float64{s - heard.LagsMS[i]/1000, s}[channel-1]
			if own > f.FromS && own < f.ToS {
				t.Errorf("channel %d: a hit at %.3f s is heard from %.3f to %.3f s", channel, own, f.FromS, f.ToS)
			}
		}
		if want := stat.Mean(heard.LagsMS, nil); heard.MeanLagMS != want || want == truth.MeanLagMS {
			t.Errorf("mean lag of what is heard %g, want %g", heard.MeanLagMS, want)
		}
	}
	_, truth := m.Play(Play{Disturb: Disturb{HumBurst: 1}})
	if heard := truth.Heard(); !slices.Equal(heard.VoiceHitsS, truth.VoiceHitsS) {
		t.Error("hum makes a channel deaf")
	}
}

// TestLostBuffer: the recording is the whole one without a stretch, the same on
// both channels, and hits lie where the truth now says.
func TestLostBuffer(t *testing.T) {
	const frames = 1024
	m := Default()
	swallowed := 0
	for seed := range uint64(30) {
		p := Play{Rate: 8000, Hits: 6, Every: 2, Seed: seed, Disturb: Quiet()}
		whole, was := m.Play(p)
		p.Disturb.LostFrames = frames
		rec, truth := m.Play(p)
		at := int(math.Round(truth.Faults[0].FromS * rec.RateHz))
		for ch := range rec.Samples {
			if !slices.Equal(rec.Samples[ch], slices.Delete(slices.Clone(whole.Samples[ch]), at, at+frames)) {
				t.Fatalf("seed %d: channel %d is not the whole one without %d frames", seed, ch+1, frames)
			}
		}
		checkMoved(t, seed, truth.VoiceHitsS, was.VoiceHitsS, truth.Faults[0].FromS, frames/rec.RateHz)
		checkMoved(t, seed, truth.ReferenceHitsS, was.ReferenceHitsS, truth.Faults[0].FromS, frames/rec.RateHz)
		swallowed += len(was.VoiceHitsS) - len(truth.VoiceHitsS)
		if len(truth.LagsMS) != len(truth.VoiceHitsS) || truth.TempoBPM != was.TempoBPM || truth.MeanLagMS != stat.Mean(truth.LagsMS, nil) {
			t.Errorf("seed %d: %d hits, %d lags", seed, len(truth.VoiceHitsS), len(truth.LagsMS))
		}
	}
	if swallowed == 0 {
		t.Error("no hit was ever swallowed: look for more seeds")
	}
}

// checkMoved: hits before the gap stay, those in it are gone, later ones come
// sooner.
func checkMoved(t *testing.T, seed uint64, got, was []float64, gapS, lostS float64) {
	t.Helper()
	var want []float64
	for _, s := range was {
		switch {
		case s < gapS:
			want = append(want, s)
		case s > gapS+lostS:
			want = append(want, s-lostS)
		}
	}
	if !slices.EqualFunc(got, want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
		t.Errorf("seed %d: hits at %v, want %v", seed, got, want)
	}
}
