package bench_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/take"
)

func open(t *testing.T, seed uint64, tempo float64) *bench.Bench {
	t.Helper()
	b, err := bench.Create(filepath.Join(t.TempDir(), "session"), bench.Practice(seed, tempo))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// tune plays and moves as told until the voice is tight, and returns how many
// takes that took.
func tune(t *testing.T, b *bench.Bench, voice string, tempo float64) (takes int) {
	t.Helper()
	if err := b.Aim(session.Target{TempoBPM: tempo, Voice: voice}); err != nil {
		t.Fatal(err)
	}
	for takes < 8 {
		at := b.Standing()
		switch at.Stage {
		case bench.Tight:
			return takes
		case bench.AwaitMove:
			if err := b.Moved(session.Move{Steps: at.Steps}); err != nil {
				t.Fatal(err)
			}
		case bench.AwaitTake:
			takes++
			if _, err := b.Play(context.Background(), nil); err != nil {
				t.Fatal(err)
			}
		}
	}
	t.Fatalf("not tight after %d takes: %+v", takes, b.Standing())
	return 0
}

// Whatever the seed, every voice lands where the machine's own law puts it, and
// after the first tempo two takes a tempo are enough.
func TestLoopOnTheSimulatedMachine(t *testing.T) {
	machine := practice.Default()
	for seed := uint64(1); seed <= 3; seed++ {
		for _, v := range machine.Voices {
			b := open(t, seed, 72)
			for i, tempo := range []float64{72, 96, 120} {
				takes := tune(t, b, v.Name, tempo)
				if i > 0 && takes > 2 {
					t.Errorf("seed %d, %s at %g BPM: %d takes, want 2 at most", seed, v.Name, tempo, takes)
				}
				period := calib.PeriodMS(tempo)
				left := machine.LagMS(v.Name, period, b.Standing().Setting)
				limit := math.Max(calib.DefaultToleranceMS, machine.Plate.StepBeats()*period*0.6)
				if math.Abs(left) > limit+1 {
					t.Errorf("seed %d, %s at %g BPM: tight at %+d, where the true lag is %.1f ms", seed, v.Name, tempo, b.Standing().Setting, left)
				}
			}
			if got := len(b.Session().Settings()); got != 3 {
				t.Errorf("%d settled settings, want 3", got)
			}
		}
	}
}

// A reference that ticks twice a beat gives the same tempo and lands as well.
func TestReferenceTicksTwiceABeat(t *testing.T) {
	s := bench.Practice(3, 72)
	s.Machine.PerBeat = 2
	b, err := bench.Create(filepath.Join(t.TempDir(), "session"), s)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	played, err := b.Play(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := played.Reading.TempoBPM; math.Abs(got/72-1) > 0.02 {
		t.Errorf("tempo read as %.1f BPM, played at about 72", got)
	}
	if err := b.Moved(session.Move{Steps: played.Advice.Steps}); err != nil {
		t.Fatal(err)
	}
	tune(t, b, "tub drum", 72)
}

func TestReopenContinues(t *testing.T) {
	b := open(t, 5, 96)
	if _, err := b.Play(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	if err := b.Moved(session.Move{Steps: 3, Note: "three only"}); err != nil {
		t.Fatal(err)
	}
	want, dir := b.Standing(), b.Dir()
	b.Close()
	again, err := bench.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	got := again.Standing()
	if got.Setting != 3 || got.Stage != want.Stage || got.Why != want.Why || got.Last.Moved.Note != "three only" {
		t.Errorf("reopened at %+v, left at %+v", got, want)
	}
	f, err := again.OpenTake(*got.Last)
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
}

// record writes a recording of the simulated machine as a file of our own.
func record(t *testing.T, path string) {
	t.Helper()
	recording, _ := practice.Default().Play(practice.Play{Voice: "elm block", TempoBPM: 90, Seed: 4})
	if err := take.Write(context.Background(), path, recording, nil); err != nil {
		t.Fatal(err)
	}
}

func TestAddCopiesTheRecording(t *testing.T) {
	b := open(t, 1, 90)
	path := filepath.Join(t.TempDir(), "crank.wav")
	record(t, path)
	heard := 0.0
	got, err := b.Add(context.Background(), path, b.Channels(), func(x float64) {
		if x < heard {
			t.Errorf("progress went back from %g to %g", heard, x)
		}
		heard = x
	})
	if err != nil {
		t.Fatal(err)
	}
	if got.Origin != "opened from crank.wav" || got.Advice.Outcome != calib.Move {
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
	record(t, filepath.Join(b.Dir(), "take-001.wav"))
	strays := b.Strays()
	if len(strays) != 1 {
		t.Fatalf("strays = %v, want the one recording", strays)
	}
	got, err := b.Add(context.Background(), strays[0], b.Channels(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if got.File != "take-001.wav" || len(b.Strays()) != 0 {
		t.Errorf("kept as %s, strays left: %v", got.File, b.Strays())
	}
}

func TestAddRefuses(t *testing.T) {
	b := open(t, 1, 90)
	text := filepath.Join(t.TempDir(), "notes.txt")
	if err := os.WriteFile(text, []byte("no sound in here"), 0o600); err != nil {
		t.Fatal(err)
	}
	good := filepath.Join(t.TempDir(), "crank.wav")
	record(t, good)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	for _, c := range []struct {
		name, path string
		ctx        context.Context
		ch         bench.Channels
		says       string
	}{
		{"no such file", "gone.wav", context.Background(), bench.Channels{Reference: 1, Voice: 2}, "gone.wav"},
		{"not a recording", text, context.Background(), bench.Channels{Reference: 1, Voice: 2}, "notes.txt"},
		{"no such channel", good, context.Background(), bench.Channels{Reference: 1, Voice: 5}, "channel 5"},
		{"cancelled", good, stopped, bench.Channels{Reference: 1, Voice: 2}, context.Canceled.Error()},
	} {
		_, err := b.Add(c.ctx, c.path, c.ch, nil)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.says)
		}
		if len(b.Session().Takes) != 0 || len(b.Strays()) != 0 {
			t.Errorf("%s: left takes %v, strays %v", c.name, b.Session().Takes, b.Strays())
		}
	}
	if _, err := b.Add(stopped, good, bench.Channels{Reference: 1, Voice: 2}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelling is reported as %v", err)
	}
}

func TestStandingFollowsTheBuilder(t *testing.T) {
	b := open(t, 2, 72)
	if at := b.Standing(); at.Stage != bench.AwaitTake || at.Last != nil {
		t.Errorf("a new session stands at %+v", at)
	}
	if err := b.Moved(session.Move{Steps: 1}); err == nil {
		t.Error("a move before any take was taken")
	}
	tune(t, b, "tub drum", 72)
	settled := b.Standing().Setting

	if err := b.Aim(session.Target{TempoBPM: 110, Voice: "tub drum"}); err != nil {
		t.Fatal(err)
	}
	at := b.Standing()
	if at.Stage != bench.AwaitMove || at.Steps >= 0 && at.Law == nil {
		t.Errorf("at a new tempo the law should advise a move first: %+v", at)
	}
	if err := b.Moved(session.Move{Steps: 0, Note: "left it"}); err != nil {
		t.Fatal(err)
	}
	if at := b.Standing(); at.Stage != bench.AwaitTake || at.Setting != settled {
		t.Errorf("after leaving the plate the loop should wait for a take at %d: %+v", settled, at)
	}
	// Back at the first tempo its own setting is known.
	if err := b.Aim(session.Target{TempoBPM: 72, Voice: "tub drum"}); err != nil {
		t.Fatal(err)
	}
	if at := b.Standing(); !strings.Contains(at.Why, "was tight") && at.Stage != bench.Tight {
		t.Errorf("back at a settled tempo: %+v", at)
	}
}
