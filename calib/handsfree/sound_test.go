package handsfree_test

import (
	"context"
	"io"
	"math"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/must"
)

// soFar is the beginning of a take, as it lies on the disk while it is recorded.
type soFar struct {
	calib.Source
	frames int64
}

func (s soFar) Frames() int64 { return s.frames }

func (s soFar) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	n := max(min(int64(len(dst)), s.frames-frame), 0)
	got, err := s.Source.ReadAt(dst[:n], channel, frame)
	if err == nil && n < int64(len(dst)) {
		err = io.EOF
	}
	return got, err
}

// lead plays a take into the machine's ears as the program does: levels and a
// reading every 0.3 s. It returns the last word, the reading of what counts, all
// troubles, and when it ended in s.
func lead(t *testing.T, take calib.Source, plan handsfree.Plan, opt signal.Options) (handsfree.Say, calib.Reading, []handsfree.Trouble, float64) {
	t.Helper()
	const tick = 0.3
	s, say := handsfree.Begin(plan)
	var troubles []handsfree.Trouble
	var r calib.Reading
	buf := make([]float32, int(tick*take.Rate()))
	for at := tick; at*take.Rate() <= float64(take.Frames()) && !say.Stop; at += tick {
		h := handsfree.Heard{AtS: at, RecordedS: at, MeasuredS: at}
		for c := 1; c <= 2; c++ {
			n, err := take.ReadAt(buf, c, int64((at-tick)*take.Rate()))
			if err != nil && err != io.EOF {
				t.Fatal(err)
			}
			h.Levels = append(h.Levels, handsfree.Hear(buf[:n]))
		}
		r = must.Get(signal.Measure(context.Background(), soFar{take, int64(at * take.Rate())}, opt))(t)
		h.Reading = &r
		s, say = handsfree.Next(s, h)
		troubles = append(troubles, say.Troubles...)
		if say.Stop {
			return say, handsfree.Part(r, say.FromS, max(opt.PerBeat, 1)), troubles, at
		}
	}
	return say, handsfree.Part(r, say.FromS, max(opt.PerBeat, 1)), troubles, float64(take.Frames()) / take.Rate()
}

// play is a take of the simulated machine at a low rate, so that measuring it over
// and over is quick.
func play(seed uint64, hits int, d practice.Disturb) (calib.Source, practice.Truth) {
	return practice.Default().Play(practice.Play{TempoBPM: 132, Hits: hits, Rate: 8000, Seed: seed, Disturb: d, LeadS: 1.5, TailS: 3})
}

// On the sound of whole takes, the machine stops within a second of the hit that
// was enough, and what it read is what these hits really were.
func TestLeadsRealSound(t *testing.T) {
	quiet := practice.Quiet()
	for seed, d := range []practice.Disturb{{}, {}, quiet} {
		take, truth := play(uint64(seed+1), 22, d)
		say, r, troubles, endedS := lead(t, take, handsfree.Plan{TargetBPM: 132}, signal.Options{})
		if say.Phase != handsfree.Enough || len(troubles) > 0 {
			t.Errorf("seed %d: %s after %d hits, %+v", seed+1, say.Phase, say.Good, troubles)
			continue
		}
		var sum, n, lastS float64
		for _, p := range r.Pairs {
			v, ok1 := near(truth.VoiceHitsS, p.VoiceS)
			ref, ok2 := near(truth.ReferenceHitsS, p.ReferenceS)
			if p.Used && ok1 && ok2 {
				sum, n, lastS = sum+1000*(v-ref), n+1, v
			}
		}
		if int(n) != say.Good || math.Abs(r.LagMS-sum/n) > 0.2 {
			t.Errorf("seed %d: %.2f ms from %d hits, these were %.2f ms late", seed+1, r.LagMS, say.Good, sum/n)
		}
		if endedS-lastS > 1 {
			t.Errorf("seed %d: ended %.1f s after the last hit", seed+1, endedS-lastS)
		}
	}
}

// near returns the one of times that lies within 5 ms of another.
func near(times []float64, t float64) (float64, bool) {
	i := slices.IndexFunc(times, func(x float64) bool { return math.Abs(x-t) < 0.005 })
	if i < 0 {
		return 0, false
	}
	return times[i], true
}

// Cables that fail are told of while the crank turns, on the right channel.
func TestTellsOfRealCables(t *testing.T) {
	for _, c := range []struct {
		d       practice.Disturb
		codes   []string
		channel int
	}{
		{practice.Disturb{DropOut: 2}, []string{calib.WarnDropOut}, 2},
		{practice.Disturb{HumBurst: 1}, []string{calib.WarnHumBurst}, 1},
		{practice.Disturb{GainDB: 20}, []string{calib.WarnClipped}, 0},
		{practice.Disturb{DeadChannel: 2}, []string{calib.WarnDropOut, calib.WarnDeadChannel}, 2},
	} {
		take, truth := play(7, 14, c.d)
		say, _, troubles, endedS := lead(t, take, handsfree.Plan{TargetBPM: 132, LeastHits: 12}, signal.Options{})
		told := slices.ContainsFunc(troubles, func(x handsfree.Trouble) bool {
			return slices.Contains(c.codes, x.Code) && (x.Channel == c.channel || c.channel == 0)
		})
		t.Logf("%v: %s %s %d hits at %.1f s, %+v; really %v", c.codes, say.Phase, say.Reason, say.Good, endedS, troubles, truth.Faults)
		if end := truth.ReferenceHitsS[len(truth.ReferenceHitsS)-1]; say.Phase == handsfree.Stopped && endedS < end {
			t.Errorf("%v: ended at %.1f s, the crank stopped at %.1f s", c.codes, endedS, end)
		}
		if !told {
			t.Errorf("%v on channel %d was not told of", c.codes, c.channel)
		}
		for _, x := range troubles {
			if c.channel != 0 && x.Channel != c.channel {
				t.Errorf("%v: told of %+v", c.codes, x)
			}
		}
	}
}

// Knocks that one channel hears a known while later give that skew, and a reading
// freed from it: real picking, on the sound of a struck block.
func TestZeroOnRealSound(t *testing.T) {
	const rate, lateFrames = 48000, 13
	knock, _ := practice.Default().Play(practice.Play{TempoBPM: 60, Hits: 5, Rate: rate, Seed: 4, Disturb: practice.Disturb{LeakDB: practice.None}})
	skewed := shifted{knock, lateFrames}
	var hitsS [2][]float64
	for c := range hitsS {
		hits := must.Get(signal.Hits(context.Background(), skewed, c+1))(t)
		for _, h := range hits {
			hitsS[c] = append(hitsS[c], h.TimeS)
		}
	}
	s, err := handsfree.Zero(hitsS[0], hitsS[1], rate)
	if want := 1000 * lateFrames / float64(rate); err != nil || math.Abs(s.MS-want) > 2*s.UncertaintyMS || s.UncertaintyMS > 0.05 || s.Knocks < 5 {
		t.Errorf("%+v, %v; want %.3f ms", s, err, want)
	}
}

// shifted has the reference on both channels, the second some frames later.
type shifted struct {
	calib.Source
	late int64
}

func (s shifted) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	if channel == 1 {
		return s.Source.ReadAt(dst, 1, frame)
	}
	if frame >= s.late {
		return s.Source.ReadAt(dst, 1, frame-s.late)
	}
	n := int(min(s.late-frame, int64(len(dst))))
	clear(dst[:n])
	got, err := s.Source.ReadAt(dst[n:], 1, 0)
	return n + got, err
}
