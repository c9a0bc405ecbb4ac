package practice

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
)

// A sweep's lags follow the law at the periods that the truth says, its tempos are those
// asked for, and where the crank stands is the inverse of when it does.
func TestSweepFollowsTheLaw(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		m := Default()
		m.JitterMS = 0
		from, to := rapid.Float64Range(50, 150).Draw(t, "from"), rapid.Float64Range(50, 150).Draw(t, "to")
		p := Play{Voice: m.Voices[0].Name, TempoBPM: from, Seed: rapid.Uint64().Draw(t, "seed"), Setting: rapid.IntRange(-10, 40).Draw(t, "setting"),
			Sweep: Sweep{ToBPM: to, Seconds: rapid.Float64Range(20, 60).Draw(t, "seconds"), Back: rapid.Bool().Draw(t, "back"),
				Stages: rapid.SampledFrom([]int{0, 5}).Draw(t, "stages"), StopS: rapid.SampledFrom([]float64{0, 4}).Draw(t, "stop"), Uneven: rapid.Float64Range(0, 0.9).Draw(t, "uneven")}}
		truth := m.Hits(p)
		for i, lag := range truth.LagsMS {
			if want := m.LagMS(p.Voice, truth.PeriodsMS[i], p.Setting); math.Abs(lag-want) > 1e-3 {
				t.Fatalf("a lag of %.4f ms at %.2f ms, want %.4f", lag, truth.PeriodsMS[i], want)
			}
		}
		hits := truth.ReferenceHitsS
		for i := 1; i < len(hits); i++ {
			if hits[i] <= hits[i-1] {
				t.Fatalf("the crank turns back at hit %d", i)
			}
		}
		first, last := 1000*(hits[1]-hits[0]), 1000*(hits[len(hits)-1]-hits[len(hits)-2])
		end, lasts := to, p.Sweep.Seconds
		if p.Sweep.Back {
			end, lasts = from, lasts/2
		}
		// Within a beat the tempo goes on changing: by half of that the beat's is off.
		off := func(gapMS, bpm float64) float64 {
			changes := (1 + p.Sweep.Uneven) * math.Abs(to-from) / lasts * gapMS / 1000
			return math.Abs(gapMS/calib.PeriodMS(bpm)-1) - changes/2/bpm
		}
		if off(first, from) > 0.05 || off(last, end) > 0.05 {
			t.Fatalf("from %.1f to %.1f BPM, want %.1f to %.1f", calib.TempoBPM(first), calib.TempoBPM(last), from, end)
		}
		if long := hits[len(hits)-1] - hits[0]; long < p.Sweep.Seconds+p.Sweep.StopS-3 || long > p.Sweep.Seconds+p.Sweep.StopS+8 {
			t.Fatalf("a sweep of %.1f s, want about %.1f", long, p.Sweep.Seconds+p.Sweep.StopS)
		}
		c := newCrank(p.filled(), m.CrankTurnsPerBeat, m.Habit, luck(p.Seed, luckCrank))
		for beat := -2.3; beat < 30; beat += 1.7 {
			if got := c.beat(c.at(beat)); math.Abs(got-beat) > 1e-4 {
				t.Fatalf("the crank stands at beat %.5f when it passes %.5f", got, beat)
			}
		}
	})
}

// Every sweep can be played, and its name says that it is one.
func TestSweepsCanBePlayed(t *testing.T) {
	for _, trap := range Sweeps() {
		m, p := trap.Make(3)
		if truth := m.Hits(p); p.Sweep.ToBPM == 0 || len(truth.VoiceHitsS) < 8 {
			t.Errorf("%s: %d hits up to %g BPM", trap.Name, len(truth.VoiceHitsS), p.Sweep.ToBPM)
		}
	}
}
