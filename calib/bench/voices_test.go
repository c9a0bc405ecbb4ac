package bench_test

import (
	"context"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	wav "lagwright/calib/take"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

var (
	trio     = []string{"tub drum", "elm block", "brass bar"}
	trioMics = on(4, 1, 2, 3, 4)
)

// on says which of so many channels hears the reference, and which the trio's voices, in
// order; 0 = none.
func on(channels, reference int, voices ...int) machine.Microphones {
	m := machine.Microphones{Channels: channels, Reference: reference}
	for i, c := range voices {
		if c > 0 {
			m.Voices = append(m.Voices, machine.Microphone{Voice: trio[i], Channel: c})
		}
	}
	return m
}

// shop is a real machine with the simulated one's voices.
func shop(t *testing.T, tempo float64) *bench.Bench {
	t.Helper()
	m := bench.Practice(1, tempo)
	m.Build.PracticeSeed = 0
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), m))(t)
	t.Cleanup(func() { b.Close() })
	return b
}

// recordTrio writes a recording of all voices, and one more channel.
func recordTrio(t *testing.T, play practice.Play) (path string, truths []practice.Truth) {
	t.Helper()
	play.Voice, play.Others = trio[0], trio[1:]
	path = filepath.Join(t.TempDir(), "trio.wav")
	truth := record(t, path, play)
	return path, append([]practice.Truth{truth}, truth.Others...)
}

// two is two channels of a recording.
type two struct {
	calib.Source
	channels [2]int
}

func (two) Channels() int { return 2 }

func (s two) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	return s.Source.ReadAt(dst, s.channels[channel-1], frame)
}

// Each voice of a take with four channels is read as from a recording of its own,
// and as it was played.
func TestEveryVoiceIsReadAsAlone(t *testing.T) {
	for seed := range uint64(deeptest.Of(1, 3)) {
		b := shop(t, 84)
		path, truths := recordTrio(t, practice.Play{TempoBPM: 84, Seed: seed + 1})
		take := must.Get(b.Add(context.Background(), path, trioMics, nil))(t)
		if !slices.Equal(take.Voices(), trio) || take.Channels != 4 || !reflect.DeepEqual(take.Heard, last(b).Heard) {
			t.Fatalf("heard %q on %d channels", take.Voices(), take.Channels)
		}
		f := must.Get(wav.Open(path))(t)
		defer f.Close()
		for i, voice := range trio {
			alone := filepath.Join(t.TempDir(), "alone.wav")
			ok(t, wav.Write(context.Background(), alone, two{f, [2]int{1, 2 + i}}, nil))
			g := must.Get(wav.Open(alone))(t)
			defer g.Close()
			want := must.Get(bench.Measure(context.Background(), g, signal.Options{}))(t)
			got := take.Of(voice).Reading
			if math.Abs(got.LagMS-want.LagMS) > 0.05 || got.Used() != want.Used() {
				t.Errorf("seed %d, %s: %.3f ms by %d pairs among all, %.3f by %d alone", seed, voice, got.LagMS, got.Used(), want.LagMS, want.Used())
			}
			if off := got.LagMS - truths[i].MeanLagMS; math.Abs(off) > 0.5 || got.Used() < 10 {
				t.Errorf("seed %d, %s: read %.3f ms by %d pairs, played %.3f", seed, voice, got.LagMS, got.Used(), truths[i].MeanLagMS)
			}
			if r, _ := b.View().Result(take.ID, voice); !r.Outcome.Read() {
				t.Errorf("seed %d, %s: %s", seed, voice, r.Why())
			}
		}
	}
}

// A dead microphone is that voice's trouble only.
func TestDeadMicrophoneLeavesTheOthers(t *testing.T) {
	for dead, voice := range trio {
		b := shop(t, 84)
		path, truths := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 4, Disturb: practice.Disturb{DeadChannel: 2 + dead}})
		take := must.Get(b.Add(context.Background(), path, trioMics, nil))(t)
		for i, v := range trio {
			as, _ := b.View().Result(take.ID, v)
			if v == voice {
				if !as.Reading.Has(calib.WarnDeadChannel) || as.Outcome != loop.CableSuspect {
					t.Errorf("dead %s: warnings %v, %s", v, as.Reading.Warnings, as.Outcome)
				}
				continue
			}
			if as.Reading.Has(calib.WarnDeadChannel) || as.Outcome != loop.Move || math.Abs(as.Reading.LagMS-truths[i].MeanLagMS) > 0.5 {
				t.Errorf("with a dead %s the %s says %s: %.2f ms, played %.2f, warnings %v", voice, v, as.Outcome, as.Reading.LagMS, truths[i].MeanLagMS, as.Reading.Warnings)
			}
		}
	}
}

// With the reference's plug on a voice's channel nothing is built on the voices
// that were measured against that voice, until it is agreed to, which puts all of them right.
func TestReferencePluggedIntoAVoice(t *testing.T) {
	b := shop(t, 84)
	path, truths := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 2, Disturb: practice.Disturb{MissedShare: 0.2}})
	take := must.Get(b.Add(context.Background(), path, on(4, 3, 2, 1, 4), nil))(t)
	if block := take.Of("elm block"); !block.Reading.Has(calib.WarnSwapped) {
		t.Fatalf("the block's warnings: %v", block.Reading.Warnings)
	}
	for _, voice := range []string{"tub drum", "brass bar"} {
		as, _ := b.View().Result(take.ID, voice)
		if as.Outcome != loop.Doubtful || as.Do() != "Stop the crank, then check which microphone is which" || strings.Count(as.Unfit, "channel 1, the elm block's") != 1 {
			t.Errorf("%s: %s, warnings %v", voice, as.Outcome, as.Reading.Warnings)
		}
	}
	found := b.View().Findings
	if len(found) != 1 || found[0].Voice != "elm block" || found[0].Yes != "The microphones were swapped" || found[0].No != "The microphones are right" {
		t.Fatalf("found %+v", found)
	}
	ok(t, b.Agree(found[0]))
	if now := last(b); now.Reference != 1 || now.Of("elm block").Channel != 3 || len(b.View().Findings) > 0 {
		t.Errorf("put right, the reference is on channel %d, the block on %d; found %+v", now.Reference, now.Of("elm block").Channel, b.View().Findings)
	}
	for i, voice := range trio {
		if as, _ := b.View().Result(take.ID, voice); as.Outcome != loop.Move || math.Abs(as.Reading.LagMS-truths[i].MeanLagMS) > 0.5 {
			t.Errorf("put right, the %s says %s: %.2f ms, played %.2f", voice, as.Outcome, as.Reading.LagMS, truths[i].MeanLagMS)
		}
	}
}

// The channels of the last recording with as many are remembered, whatever was
// recorded in between.
func TestChannelsAreRemembered(t *testing.T) {
	b := shop(t, 84)
	if got := b.Channels(4); !reflect.DeepEqual(got, trioMics) {
		t.Errorf("at first %+v", got)
	}
	if got := b.Channels(3); !reflect.DeepEqual(got, on(3, 1, 2, 3)) {
		t.Errorf("at first, of three: %+v", got)
	}
	path, _ := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 2, Hits: 4})
	mics := on(4, 1, 2, 0, 4)
	must.Get(b.Add(context.Background(), path, mics, nil))(t)
	pair := filepath.Join(t.TempDir(), "pair.wav")
	record(t, pair, block)
	must.Get(b.Add(context.Background(), pair, on(2, 2, 1), nil))(t)
	if got := b.Channels(4); !reflect.DeepEqual(got, mics) {
		t.Errorf("of four: %+v", got)
	}
	if got := b.Channels(2); !reflect.DeepEqual(got, on(2, 2, 1)) {
		t.Errorf("of two: %+v", got)
	}
	ok(t, b.Aim(machine.Target{TempoBPM: 84, Voice: "brass bar"}))
	if got := b.Channels(4); !reflect.DeepEqual(got, mics) {
		t.Errorf("for the bar: %+v", got)
	}
	if got := b.Channels(2).Voices[0]; got.Voice != "brass bar" || got.Channel != 1 {
		t.Errorf("the one microphone of two channels is on the %+v", got)
	}
	ok(t, b.Aim(machine.Target{TempoBPM: 84, Voice: "elm block"}))
	for says, ch := range map[string]machine.Microphones{
		"no channel carries the elm block": on(4, 1, 2, 0, 4),
		"both the reference and the elm":   on(4, 1, 0, 1),
		"both the elm block and the tub":   on(4, 1, 2, 2),
		"channel 9 is not in":              on(4, 1, 9, 2),
		"channel 8 is not in":              on(4, 8, 0, 2),
	} {
		if _, err := b.Add(context.Background(), path, ch, nil); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%+v: error %v, want one that says %q", ch, err, says)
		}
	}
	mono := filepath.Join(t.TempDir(), "mono.wav")
	ok(t, wav.Write(context.Background(), mono, calib.Recording{RateHz: 22050, Samples: [][]float32{make([]float32, 44100)}}, nil))
	if _, err := b.Add(context.Background(), mono, on(1, 1, 0, 2), nil); err == nil || !strings.Contains(err.Error(), "mono.wav has one channel only") {
		t.Errorf("of one channel: %v", err)
	}
	if got := len(b.Machine().Takes); got != 2 {
		t.Errorf("%d takes", got)
	}
}
