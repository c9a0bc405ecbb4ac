package bench_test

import (
	"context"
	"errors"
	"math"
	"os"
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
	"lagwright/calib/take"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

func open(t *testing.T, seed uint64, tempo float64) *bench.Bench {
	t.Helper()
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), bench.Practice(seed, tempo)))(t)
	t.Cleanup(func() { b.Close() })
	return b
}

func ok(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// playOne plays a take and returns it as the machine keeps it.
func playOne(t testing.TB, b *bench.Bench) machine.Take {
	t.Helper()
	_, err := b.Play(context.Background(), nil)
	ok(t, err)
	return last(b)
}

func last(b *bench.Bench) machine.Take {
	takes := b.Machine().Takes
	return takes[len(takes)-1]
}

// truly is a take as it really was: told counts only in what the machine hears.
type truly struct {
	voice  string
	bpm    float64
	stands int // where the plate really stands
	told   int // to be turned after the take
}

// hear records a take.
func hear(t *testing.T, b *bench.Bench, take truly, seed uint64) {
	t.Helper()
	ok(t, b.Aim(machine.Target{TempoBPM: take.bpm, Voice: take.voice}))
	voice := take.voice
	if _, known := practice.Default().Voice(voice); !known {
		voice = "" // it has another name here
	}
	path := filepath.Join(t.TempDir(), "crank.wav")
	record(t, path, practice.Play{Voice: voice, TempoBPM: take.bpm, Setting: take.stands, Seed: seed})
	_, err := b.Add(context.Background(), path, b.Channels(2), nil)
	ok(t, err)
	if take.told != 0 {
		ok(t, b.Moved(take.told, ""))
	}
}

// record writes a recording of the simulated machine as a file of our own.
func record(t *testing.T, path string, play practice.Play) (truth practice.Truth) {
	t.Helper()
	play.Rate = bench.QuickRate
	recording, truth := practice.Default().Play(play)
	ok(t, take.Write(context.Background(), path, recording, nil))
	return truth
}

var block = practice.Play{Voice: "elm block", TempoBPM: 90, Seed: 4}

// tune plays and moves as told until the voice is tight, and returns how many
// takes that took.
func tune(t *testing.T, b *bench.Bench, voice string, tempo float64) (takes int) {
	t.Helper()
	ok(t, b.Aim(machine.Target{TempoBPM: tempo, Voice: voice}))
	for takes < 8 {
		switch v := b.View(); v.Stage {
		case loop.Tight:
			return takes
		case loop.AwaitMove:
			ok(t, b.Moved(v.Steps, ""))
		case loop.AwaitTake, loop.Foretold:
			takes++
			playOne(t, b)
		}
	}
	t.Fatalf("not tight after %d takes: %s", takes, b.View().Why)
	return 0
}

// What is recorded lands where the machine's own law puts it, and after the first tempo
// two takes a tempo are enough; loop's tests play without sound.
func TestLoopOnTheSimulatedMachine(t *testing.T) {
	simulated := practice.Default()
	for _, v := range deeptest.Some(1, simulated.Voices) {
		b := open(t, 1, 72)
		for n, tempo := range []float64{72, 96, 120} {
			takes := tune(t, b, v.Name, tempo)
			if n > 0 && takes > 2 {
				t.Errorf("%s at %g BPM: %d takes, want 2 at most", v.Name, tempo, takes)
			}
			wantTrulyTight(t, b, v.Name, tempo)
		}
		if got := len(b.View().Settings); got != 3 {
			t.Errorf("%d settled settings, want 3", got)
		}
	}
}

// wantTrulyTight checks the plate against the machine's own law: whole beats
// count, and the limit is that of the advice with its edge.
func wantTrulyTight(t *testing.T, b *bench.Bench, voice string, tempo float64) {
	t.Helper()
	simulated := practice.Default()
	left := simulated.LagMS(voice, calib.PeriodMS(tempo), b.View().Setting)
	if limit := math.Max(calib.DefaultToleranceMS, simulated.Plate.StepBeats()*calib.PeriodMS(tempo)*0.6); math.Abs(left) > limit+1 {
		t.Errorf("%s at %g BPM: tight at %+d, where the true lag is %.1f ms", voice, tempo, b.View().Setting, left)
	}
}

// A reference that ticks twice a beat gives the same tempo and lands as well.
func TestReferenceTicksTwiceABeat(t *testing.T) {
	m := bench.Practice(3, 72)
	m.Build.PerBeat = 2
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), m))(t)
	defer b.Close()
	played := playOne(t, b)
	if got := played.Heard[0].Reading.TempoBPM; math.Abs(got/72-1) > 0.02 {
		t.Errorf("tempo read as %.1f BPM, played at about 72", got)
	}
	tune(t, b, "tub drum", 72)
	wantTrulyTight(t, b, "tub drum", 72)
}

func TestReopenContinues(t *testing.T) {
	b := open(t, 5, 96)
	playOne(t, b)
	ok(t, b.Moved(3, "three only"))
	want, dir := b.View(), b.Dir()
	ok(t, b.Close())
	again, err := bench.Open(dir)
	ok(t, err)
	defer again.Close()
	got, taken := again.View(), last(again)
	if got.Setting != 3 || got.Stage != want.Stage || got.Why != want.Why || taken.Moved.Note != "three only" {
		t.Errorf("reopened at %+d: %s; left at: %s", got.Setting, got.Why, want.Why)
	}
	f, err := again.OpenTake(taken)
	ok(t, err)
	f.Close()
}

// What was exported and imported goes on like the machine itself.
func TestImportedMachineGoesOn(t *testing.T) {
	b := open(t, 5, 96)
	playOne(t, b)
	path := filepath.Join(t.TempDir(), "yard.zip")
	missing, err := b.Export(context.Background(), path, nil)
	ok(t, err)
	dir, err := machine.Import(context.Background(), path, t.TempDir(), nil)
	ok(t, err)
	copied, err := bench.Open(dir)
	ok(t, err)
	defer copied.Close()
	if len(missing) > 0 || !reflect.DeepEqual(copied.Machine(), b.Machine()) {
		t.Errorf("missing %q; it came as %+v", missing, copied.Machine())
	}
	f, err := copied.OpenTake(last(copied))
	ok(t, err)
	f.Close()
}

func TestAddCopiesTheRecording(t *testing.T) {
	b := open(t, 1, 90)
	path := filepath.Join(t.TempDir(), "crank.wav")
	record(t, path, block)
	heard := 0.0
	got := must.Get(b.Add(context.Background(), path, b.Channels(2), func(x float64) {
		if x < heard {
			t.Errorf("progress went back from %g to %g", heard, x)
		}
		heard = x
	}))(t)
	if got.Origin.English() != "opened from crank.wav" || b.View().Stage != loop.AwaitMove {
		t.Errorf("take = %+v", got)
	}
	if heard < 0.99 {
		t.Errorf("progress ended at %g", heard)
	}
	original, _ := os.ReadFile(path)
	kept, err := os.ReadFile(filepath.Join(b.Dir(), got.File))
	if err != nil || string(kept) != string(original) {
		t.Errorf("the kept recording differs from the original (%v)", err)
	}
}

func TestAddKeepsAStrayInPlace(t *testing.T) {
	b := open(t, 1, 90)
	record(t, filepath.Join(b.Dir(), "take-001.wav"), block)
	strays := b.Strays()
	if len(strays) != 1 {
		t.Fatalf("strays = %v, want the one recording", strays)
	}
	got := must.Get(b.Add(context.Background(), strays[0], b.Channels(2), nil))(t)
	if got.File != "take-001.wav" || len(b.Strays()) != 0 {
		t.Errorf("kept as %s, strays left: %v", got.File, b.Strays())
	}
}

// What a crash left is offered at the next start under its own name, and measured
// like any take, with what is known of the skew of its channels.
// brokenOff leaves a take of the tub drum in the machine's folder, as it is when the program
// is gone while it records; its channels are those of what was played.
func brokenOff(t *testing.T, b *bench.Bench, channels ...int) calib.Source {
	t.Helper()
	src, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: 96, Hits: 12, Seed: 7, Rate: bench.QuickRate})
	n := len(channels)
	rec, err := take.Create(filepath.Join(b.Dir(), "take-001.wav"), calib.Format{RateHz: bench.QuickRate, Channels: n})
	ok(t, err)
	all, channel := make([]float32, n*int(src.Frames())), make([]float32, src.Frames())
	for c, of := range channels {
		src.ReadAt(channel, of, 0)
		for i, x := range channel {
			all[n*i+c] = x
		}
	}
	ok(t, rec.Write(all))
	rec.Flush()
	return src
}

// A skew is that of two channels: with another reference nothing is known of it.
func TestSkewOfAnotherReference(t *testing.T) {
	b := open(t, 1, 96)
	src := brokenOff(t, b, 1, 2, 1)
	set := on(3, 1, 2)
	set.Device, set.RateHz, set.Voices[0].Skew = "Desk", bench.QuickRate, calib.Skew{MS: 3, UncertaintyMS: 0.05, Knocks: 5}
	ok(t, b.SetMicrophones(set))
	plain, err := signal.Measure(context.Background(), src, signal.Options{Reference: 1, Voice: 2})
	ok(t, err)
	kept, err := b.Add(context.Background(), filepath.Join(b.Dir(), "take-001.part.wav"), on(3, 3, 2), nil)
	ok(t, err)
	if off := plain.LagMS - kept.Heard[0].Reading.LagMS; math.Abs(off) > 0.1 {
		t.Errorf("%.2f ms are taken off by the skew against another channel", off)
	}
}

func TestUnfinishedTakeIsOffered(t *testing.T) {
	b := open(t, 1, 96)
	src := brokenOff(t, b, 1, 2)
	part := filepath.Join(b.Dir(), "take-001.part.wav")
	if got := b.Strays(); !slices.Equal(got, []string{part}) {
		t.Fatalf("offered %v, want %s", got, part)
	}
	ok(t, b.SetMicrophones(machine.Microphones{Device: "Desk", RateHz: bench.QuickRate, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2, Skew: calib.Skew{MS: 3, UncertaintyMS: 0.05, Knocks: 5}}}}))
	plain, err := signal.Measure(context.Background(), src, signal.Options{Reference: 1, Voice: 2})
	ok(t, err)
	kept, err := b.Add(context.Background(), part, b.Channels(2), nil)
	ok(t, err)
	r := kept.Heard[0].Reading
	if off := plain.LagMS - r.LagMS; math.Abs(off-3) > 0.1 {
		t.Errorf("the channels' skew of 3 ms is known, and %.2f are taken off", off)
	}
	if kept.File != "take-001.wav" || !r.Has(calib.WarnUnfinished) || r.Used() < 8 {
		t.Errorf("kept as %s, %d pairs, warnings %v", kept.File, r.Used(), r.Warnings)
	}
	if _, err := os.Stat(part); !os.IsNotExist(err) {
		t.Errorf("%s is still there", part)
	}
}

func TestAddRefuses(t *testing.T) {
	b := open(t, 1, 90)
	text := filepath.Join(t.TempDir(), "notes.txt")
	must.Do(t, os.WriteFile(text, []byte("no sound in here"), 0o600))
	good := filepath.Join(t.TempDir(), "crank.wav")
	record(t, good, block)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	for _, c := range []struct {
		name, path string
		ctx        context.Context
		voice      int
		says       string
	}{
		{"no such file", "gone.wav", context.Background(), 2, "gone.wav"},
		{"not a recording", text, context.Background(), 2, "notes.txt"},
		{"no such channel", good, context.Background(), 5, "channel 5 is not in"},
		{"cancelled", good, stopped, 2, context.Canceled.Error()},
	} {
		_, err := b.Add(c.ctx, c.path, on(2, 1, c.voice), nil)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.says)
		}
		if len(b.Machine().Takes) != 0 || len(b.Strays()) != 0 {
			t.Errorf("%s: left takes %v, strays %v", c.name, b.Machine().Takes, b.Strays())
		}
	}
	if _, err := b.Add(stopped, good, on(2, 1, 2), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelling is reported as %v", err)
	}
}

// A cancelled measurement leaves a found recording where it is.
func TestCancelKeepsAStray(t *testing.T) {
	b := open(t, 1, 90)
	path := filepath.Join(b.Dir(), "take-001.wav")
	record(t, path, block)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := b.Add(stopped, path, b.Channels(2), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
	if _, err := os.Stat(path); err != nil {
		t.Errorf("the found recording is gone: %v", err)
	}
}

func TestChannelsFitTheRecording(t *testing.T) {
	b := open(t, 1, 90)
	path := filepath.Join(t.TempDir(), "swapped.wav")
	record(t, path, block)
	must.Get(b.Add(context.Background(), path, on(2, 2, 1), nil))(t)
	if got := b.Channels(2); !reflect.DeepEqual(got, on(2, 2, 1)) {
		t.Errorf("the next stereo recording gets %+v", got)
	}
	if got := b.Channels(1); !reflect.DeepEqual(got, on(1, 1, 2)) {
		t.Errorf("a mono recording gets %+v", got)
	}
}
