package bench_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/take"
	"lagwright/internal/deeptest"
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
			if err := b.Moved(at.Steps, ""); err != nil {
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

// Every voice lands where the machine's own law puts it, and after the first
// tempo two takes a tempo are enough.
func TestLoopOnTheSimulatedMachine(t *testing.T) {
	machine := practice.Default()
	for _, v := range deeptest.Some(1, machine.Voices) {
		b := open(t, 1, 72)
		for n, tempo := range []float64{72, 96, 120} {
			takes := tune(t, b, v.Name, tempo)
			if n > 0 && takes > 2 {
				t.Errorf("%s at %g BPM: %d takes, want 2 at most", v.Name, tempo, takes)
			}
			wantTrulyTight(t, b, v.Name, tempo)
		}
		if got := len(b.Session().Settings()); got != 3 {
			t.Errorf("%d settled settings, want 3", got)
		}
	}
}

// wantTrulyTight checks the plate against the machine's own law: whole beats
// count, and the limit is that of the advice with its edge.
func wantTrulyTight(t *testing.T, b *bench.Bench, voice string, tempo float64) {
	t.Helper()
	machine := practice.Default()
	left := machine.LagMS(voice, calib.PeriodMS(tempo), b.Standing().Setting)
	if limit := math.Max(calib.DefaultToleranceMS, machine.Plate.StepBeats()*calib.PeriodMS(tempo)*0.6); math.Abs(left) > limit+1 {
		t.Errorf("%s at %g BPM: tight at %+d, where the true lag is %.1f ms", voice, tempo, b.Standing().Setting, left)
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
	if err := b.Moved(played.Advice.Steps, ""); err != nil {
		t.Fatal(err)
	}
	tune(t, b, "tub drum", 72)
}

func TestReopenContinues(t *testing.T) {
	b := open(t, 5, 96)
	if _, err := b.Play(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	if err := b.Moved(3, "three only"); err != nil {
		t.Fatal(err)
	}
	want, dir := b.Standing(), b.Dir()
	b.Close()
	again, err := bench.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	got, last := again.Standing(), again.Session().Takes[0]
	if got.Setting != 3 || got.Stage != want.Stage || got.Why != want.Why || last.Moved.Note != "three only" {
		t.Errorf("reopened at %+v, left at %+v", got, want)
	}
	f, err := again.OpenTake(last)
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
}

// record writes a recording of the simulated machine as a file of our own.
func record(t *testing.T, path string) {
	t.Helper()
	recording, _ := practice.Default().Play(practice.Play{Voice: "elm block", TempoBPM: 90, Seed: 4, Rate: bench.QuickRate})
	if err := take.Write(context.Background(), path, recording, nil); err != nil {
		t.Fatal(err)
	}
}

func TestAddCopiesTheRecording(t *testing.T) {
	b := open(t, 1, 90)
	path := filepath.Join(t.TempDir(), "crank.wav")
	record(t, path)
	heard := 0.0
	got, err := b.Add(context.Background(), path, b.Channels(2), func(x float64) {
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
	got, err := b.Add(context.Background(), strays[0], b.Channels(2), nil)
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
		{"no such channel", good, context.Background(), bench.Channels{Reference: 1, Voice: 5}, "channel 5 is not in"},
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

// wantStanding checks where the loop stands.
func wantStanding(t *testing.T, b *bench.Bench, what string, stage bench.Stage, setting, steps int, why string) {
	t.Helper()
	at := b.Standing()
	if at.Stage != stage || at.Setting != setting || at.Steps != steps || !strings.Contains(at.Why, why) {
		t.Errorf("%s: stage %d at %+d, %+d steps, %q; want stage %d at %+d, %+d steps, saying %q", what, at.Stage, at.Setting, at.Steps, at.Why, stage, setting, steps, why)
	}
}

func aim(t *testing.T, b *bench.Bench, tempo float64) {
	t.Helper()
	if err := b.Aim(session.Target{TempoBPM: tempo, Voice: "tub drum"}); err != nil {
		t.Fatal(err)
	}
}

func moved(t *testing.T, b *bench.Bench, steps int, note string) {
	t.Helper()
	if err := b.Moved(steps, note); err != nil {
		t.Fatal(err)
	}
}

// The builder changes tempo without playing, turns something else, thinks again:
// the loop always knows where the plate stands and asks for the right move.
func TestStandingFollowsTheBuilder(t *testing.T) {
	b := open(t, 2, 72)
	wantStanding(t, b, "a new session", bench.AwaitTake, 0, 0, "counts as setting 0")
	if err := b.Moved(1, ""); err == nil {
		t.Error("a move before any take was taken")
	}
	tune(t, b, "tub drum", 72)
	settled := b.Standing().Setting
	wantStanding(t, b, "tight", bench.Tight, settled, 0, "ms")

	law := func(tempo float64) int {
		ways, err := b.Session().Explain("tub drum")
		if err != nil {
			t.Fatal(err)
		}
		return int(math.Round(ways[0].Law.Setting(calib.PeriodMS(tempo))))
	}
	aim(t, b, 110)
	wantStanding(t, b, "a new tempo", bench.AwaitMove, settled, law(110)-settled, "The law puts the tub drum together")
	moved(t, b, 0, "left it")
	wantStanding(t, b, "left alone", bench.AwaitTake, settled, 0, "Play at 110 BPM")

	aim(t, b, 130)
	wantStanding(t, b, "another tempo", bench.AwaitMove, settled, law(130)-settled, "130 BPM")
	moved(t, b, law(130)-settled, "")
	wantStanding(t, b, "turned there", bench.AwaitTake, law(130), 0, "Play at 130 BPM")
	moved(t, b, -2, "two too many")
	wantStanding(t, b, "moves add up", bench.AwaitTake, law(130)-2, 0, "")
	if note := b.Session().Takes[len(b.Session().Takes)-1].Moved.Note; note != "left it; two too many" {
		t.Errorf("notes %q", note)
	}

	// Back at the first tempo its own setting is known, and is asked for.
	aim(t, b, 72)
	wantStanding(t, b, "back at a settled tempo", bench.AwaitMove, law(130)-2, settled-law(130)+2, "was tight at")
	moved(t, b, settled-law(130)+2, "")
	wantStanding(t, b, "at its setting again", bench.Tight, settled, 0, "ms")
}

// Fast tempos first, where the first lag passes half a beat.
func TestFastTempoFirst(t *testing.T) {
	for voice, tempos := range map[string][]float64{"brass bar": {150, 72}, "tub drum": {130, 60, 100}} {
		b := open(t, 1, tempos[0])
		for _, tempo := range tempos {
			tune(t, b, voice, tempo)
			wantTrulyTight(t, b, voice, tempo)
		}
		for _, one := range b.Session().Takes {
			if o := one.Advice.Outcome; o == calib.WrongWay || o == calib.NoChange {
				t.Errorf("%s %v: take %d doubts a move that was made as told: %s", voice, tempos, one.ID, one.Advice.Why)
			}
		}
	}
}

// A cancelled measurement leaves a found recording where it is.
func TestCancelKeepsAStray(t *testing.T) {
	b := open(t, 1, 90)
	path := filepath.Join(b.Dir(), "take-001.wav")
	record(t, path)
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
	record(t, path)
	if _, err := b.Add(context.Background(), path, bench.Channels{Reference: 2, Voice: 1}, nil); err != nil {
		t.Fatal(err)
	}
	if got := b.Channels(2); !reflect.DeepEqual(got, bench.Channels{Reference: 2, Voice: 1}) {
		t.Errorf("the next stereo recording gets %+v", got)
	}
	if got := b.Channels(1); !reflect.DeepEqual(got, bench.Channels{Reference: 1, Voice: 2}) {
		t.Errorf("a mono recording gets %+v", got)
	}
}
