package live

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/playback"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/calib/take"
	"lagwright/internal/diskfault"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// quickRate is the sample rate of takes here, in Hz: hits are found as well at it.
const quickRate = 8000

func TestMain(m *testing.M) {
	bench.Simulated.Rate = quickRate
	diskfault.WithoutSync() // waiting for the disk shows nothing here
	os.Exit(m.Run())
}

// armed is a machine with a device that plays a recording twice as fast as it
// was played.
func armed(t *testing.T, hits int) (*bench.Bench, *capture.Replay) {
	t.Helper()
	m := bench.Practice(1, 96)
	m.Build.PracticeSeed = 0 // as a real one
	m.Microphones = &machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1, Voices: []machine.Microphone{{Voice: m.Target.Voice, Channel: 2}}}
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), m))(t)
	t.Cleanup(func() { b.Close() })
	rec, _ := practice.Default().Play(practice.Play{Voice: m.Target.Voice, TempoBPM: m.Target.TempoBPM, Hits: hits, Seed: 7, Rate: quickRate})
	return b, &capture.Replay{Source: rec, Speed: 2}
}

// tones collects what is sounded.
type tones struct {
	mu  sync.Mutex
	all []playback.Tone
}

func (ts *tones) ring(t playback.Tone) {
	ts.mu.Lock()
	defer ts.mu.Unlock()
	ts.all = append(ts.all, t)
}

// over waits for a take's end.
func over(t *testing.T, l *Take) (machine.Take, error) {
	t.Helper()
	select {
	case <-l.Done():
	case <-time.After(3 * time.Minute):
		t.Fatalf("the take is not over after three minutes: %+v", l.Now().Say)
	}
	return l.Kept()
}

// record records a take to its end.
func record(t *testing.T, b *bench.Bench, sound capture.Sound, aloud Aloud) (l *Take, kept machine.Take) {
	t.Helper()
	l = must.Get(Record(b, sound, aloud))(t)
	return l, must.Get(over(t, l))(t)
}

// The machine leads a take from the first turn of the crank to the result, and
// the live lag is the file's.
func TestRecordHandsFree(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, sound := armed(t, 40)
		var heard tones
		l, kept := record(t, b, sound, Aloud{Ring: heard.ring})
		if say := l.Now().Say; say.Phase != handsfree.Enough || say.Good < 8 {
			t.Errorf("it ended as %q (%s) with %d hits", say.Phase, say.Reason, say.Good)
		}
		f := must.Get(b.OpenTake(kept))(t)
		defer f.Close()
		fresh := must.Get(signal.Measure(context.Background(), f, signal.Options{Reference: 1, Voice: 2}))(t)
		if off := kept.Heard[0].Reading.LagMS - fresh.LagMS; math.Abs(off) > 0.2 {
			t.Errorf("the live lag is %.3f ms, the file's %.3f", kept.Heard[0].Reading.LagMS, fresh.LagMS)
		}
		if len(f.Warnings()) != 0 || kept.Origin.English() != "recorded from Replay" || kept.File != "take-001.wav" {
			t.Errorf("kept as %s, %s, with %v", kept.File, kept.Origin, f.Warnings())
		}
		if want := []playback.Tone{playback.Armed, playback.Stopped, playback.Late}; !inOrder(heard.all, want) {
			t.Errorf("tones %v, want among them in order %v", heard.all, want)
		}
	})
}

func inOrder(all, want []playback.Tone) bool {
	for _, tone := range all {
		if len(want) > 0 && tone == want[0] {
			want = want[1:]
		}
	}
	return len(want) == 0
}

// A device that dies takes nothing with it.
func TestRecordDeviceDies(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, sound := armed(t, 40)
		sound.EndAt = 4 * quickRate
		l, kept := record(t, b, sound, Aloud{})
		f := must.Get(b.OpenTake(kept))(t)
		defer f.Close()
		if f.Frames() < 3*quickRate || f.Frames() > 4*quickRate {
			t.Errorf("%d frames of 4 s are kept", f.Frames())
		}
		if now := l.Now(); now.Say.Reason != handsfree.DeviceLost || now.Fault == nil || !strings.Contains(now.Fault.Error(), "Replay") {
			t.Errorf("it says %q, %q", now.Say.Reason, now.Fault)
		}
	})
}

// One press ends a take; where nothing struck, nothing is kept.
func TestRecordPressed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, sound := armed(t, 1)
		sound.Source = silence
		l := must.Get(Record(b, sound, Aloud{}))(t)
		time.Sleep(600 * time.Millisecond)
		l.Press()
		kept, err := over(t, l)
		if err != nil || kept.ID != 0 || len(b.Machine().Takes) != 0 {
			t.Errorf("kept take %d, %v", kept.ID, err)
		}
		if left := slices.Concat(b.Strays(), take.Unfinished(b.Dir())); len(left) != 0 {
			t.Errorf("left behind: %v", left)
		}
	})
}

// Leaving does not wait for the next press to count.
func TestRecordLeftAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, sound := armed(t, 1)
		sound.Source = silence
		l := must.Get(Record(b, sound, Aloud{}))(t)
		l.Press() // too soon after the first to count
		l.Leave()
		l.Leave()
		select {
		case <-l.Done():
		case <-time.After(10 * time.Second):
			t.Fatal("it goes on")
		}
	})
}

// What is remembered of a channel is its own.
func TestMonitorRemembers(t *testing.T) {
	p := past{format: calib.Format{RateHz: 1000, Channels: 3}}
	for i := range 3000 {
		p.Write([]float32{0, float32(i), -float32(i)})
	}
	if part, _ := p.since(2.5); len(part.Samples) != 3 || len(part.Samples[2]) != 500 || part.Samples[2][0] != -2500 || part.Samples[1][499] != 2999 {
		t.Errorf("%d channels of %d", len(part.Samples), part.Frames())
	}
}

var silence = soundtest.Made{RateHz: quickRate, Of: 2, Long: quickRate}

// Without microphones, or without the device, recording is refused in a sentence.
func TestRecordRefused(t *testing.T) {
	b, sound := armed(t, 1)
	m := *b.Machine().Microphones
	m.Device = "Another"
	must.Do(t, b.SetMicrophones(m))
	if _, err := Record(b, sound, Aloud{}); err == nil || !strings.Contains(err.Error(), "Another is not there") {
		t.Errorf("a missing device: %v", err)
	}
	m.Device, m.Voices = "Replay", nil
	must.Do(t, b.SetMicrophones(m))
	if _, err := Record(b, sound, Aloud{}); err == nil || !strings.Contains(err.Error(), "no microphone") {
		t.Errorf("a voice without a microphone: %v", err)
	}
	read := must.Get(bench.OpenOrRead(b.Dir()))(t)
	defer read.Close()
	if _, err := Record(read, sound, Aloud{}); err == nil || !strings.Contains(err.Error(), "can only be read") {
		t.Errorf("a machine that another window has: %v", err)
	}
	if left := slices.Concat(b.Strays(), take.Unfinished(b.Dir())); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

// A known skew between the channels is taken off the lag.
func TestRecordTakesTheSkewOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, sound := armed(t, 40)
		m := *b.Machine().Microphones
		m.Voices[0].Skew = calib.Skew{MS: 3, UncertaintyMS: 0.05, Knocks: 5}
		must.Do(t, b.SetMicrophones(m))
		_, kept := record(t, b, sound, Aloud{})
		f := must.Get(b.OpenTake(kept))(t)
		defer f.Close()
		fresh := must.Get(signal.Measure(context.Background(), f, signal.Options{Reference: 1, Voice: 2}))(t)
		if off := fresh.LagMS - kept.Heard[0].Reading.LagMS; math.Abs(off-3) > 0.2 || kept.Heard[0].Reading.Budget.SkewMS != 0.05 {
			t.Errorf("%.2f ms are taken off, want 3; the budget has %g ms for skew", off, kept.Heard[0].Reading.Budget.SkewMS)
		}
	})
}

// The simulated machine can be recorded hands-free as well, in real time.
func TestRecordSimulated(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), bench.Practice(3, 110)))(t)
		defer b.Close()
		_, kept := record(t, b, nil, Aloud{})
		if kept.Heard[0].Reading.Used() < 8 || b.View().Stage != loop.AwaitMove {
			t.Errorf("take %d with %d pairs says %q", kept.ID, kept.Heard[0].Reading.Used(), b.View().Do)
		}
		if b.Machine().Microphones != nil {
			t.Error("the simulated machine's microphones are kept as if they were real")
		}
		m := b.Machine() // a voice that it has not got is refused, as where it plays at once
		was := m.Build.Voices
		m.Build.Voices = append([]string{"gong"}, was[1:]...)
		must.Do(t, b.EditMachine(m.Build, m.ToleranceMS, was))
		if _, err := Record(b, nil, Aloud{}); err == nil || !strings.Contains(err.Error(), "gong") {
			t.Errorf("a gong is recorded: %v", err)
		}
	})
}

// A key that is pressed while the sound so far is measured is heeded first: levels are
// told, and the reading waits for the next time.
func TestHearIsCutShort(t *testing.T) {
	_, sound := armed(t, 12)
	path := filepath.Join(t.TempDir(), "take-001.wav")
	must.Do(t, take.Write(context.Background(), path, sound.Source, nil))
	e := ears{path: path, plan: handsfree.Plan{Reference: 1, Voice: 2, PerBeat: 1}}
	defer e.close()
	cut, cancel := context.WithCancel(context.Background())
	cancel()
	if h := e.hear(cut, handsfree.Counting); h.Reading != nil || h.RecordedS < 5 || len(h.Levels) != 2 || h.Levels[0].Peak == 0 {
		t.Errorf("cut short it heard %+v", h)
	}
	if h := e.hear(context.Background(), handsfree.Counting); h.Reading == nil || h.Reading.Used() < 8 {
		t.Errorf("then it heard %+v", h)
	}
}
