package ui

import (
	"math"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/capture"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/internal/must"
	"lagwright/ui/listen"
	"lagwright/ui/setup"
	"lagwright/ui/shelf"
)

// long is how many hits a sound has that goes on for longer than a take or a look at it lasts, be
// the computer ever so busy: after its end there is silence.
const long = 400

// realMachine is a machine that is heard by a device that plays the
// simulated one's sound, twice as fast.
func realMachine(t *testing.T, w *Window, hits int) *capture.Replay {
	t.Helper()
	rec, _ := practice.Default().Play(practice.Play{TempoBPM: 96, Hits: hits, Seed: 11, LeadS: 2, Rate: quickRate})
	sound := &capture.Replay{Source: rec, Speed: 2}
	w.desk.Sound = sound
	m := shelf.NewMachine("Test rig", "tub drum", 96, 5)
	m.Build.Plate = practice.Default().Plate
	w.welcome.Create(m)
	return sound
}

// A take is played with both hands on the crank: one key begins it, the machine ends
// it, and the window shows what it came to.
func TestRecordedHandsFree(t *testing.T) {
	if testing.Short() {
		t.Skip("records in real time")
	}
	w := testWindow(t)
	realMachine(t, w, long)
	if !w.loop.PlayTake.Visible() {
		t.Fatal("a real machine cannot be recorded")
	}
	must.Do(t, w.desk.Bench.SetMicrophones(machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2}}}))
	var hears func()
	w.desk.Later = func(_ time.Duration, f func()) { hears = f }
	w.typed(&fyne.KeyEvent{Name: fyne.KeySpace})
	if hears == nil || !w.loop.Turned.Disabled() {
		t.Fatal("right after the machine ended it, a press meant for Stop counts")
	}
	w.record.RecordTake()
	if w.typed(&fyne.KeyEvent{Name: fyne.KeySpace}); w.desk.Win.Canvas().Overlays().Top() != nil || w.record.Live != nil {
		t.Error("a press meant for Stop begins a take")
	}
	if hears(); w.loop.Turned.Disabled() {
		t.Error("nothing can be pressed any more")
	}
	m := w.desk.Machine()
	if len(m.Takes) != 1 || w.take.Showing != m.Takes[0].ID || w.record.Live != nil {
		t.Fatalf("%d takes, take %d in sight: %s", len(m.Takes), w.take.Showing, w.desk.Notice.Text.Text)
	}
	if at := w.desk.View(); at.Stage != loop.AwaitMove || at.Last.LagMS < 100 || at.Last.Reading.Used() < 8 {
		t.Errorf("it came to %s with %d pairs", at.Why, at.Last.Reading.Used())
	}
	if w.take.Live.Levels.Visible() || w.loop.StopLive.Visible() || !w.loop.Turned.Visible() {
		t.Error("the window still shows a take under way")
	}
}

// While a take is played the window leads through it, shows levels, trace and hits,
// and lets nothing else be done.
func TestLiveTakeIsShown(t *testing.T) {
	if testing.Short() {
		t.Skip("records in real time")
	}
	w := testWindow(t)
	realMachine(t, w, long)
	must.Do(t, w.desk.Bench.SetMicrophones(machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2}}}))
	w.desk.Jobs.Spawn = func(func()) {} // looked at by hand
	test.Tap(w.loop.PlayTake)
	if w.record.Live == nil {
		t.Fatal(w.desk.Notice.Text.Text)
	}
	defer func() { w.record.Leave() }()
	said := map[string]bool{}
	for end := time.Now().Add(5 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
		w.record.Look()
		said[w.loop.Do.Text] = true
		if fan := w.take.Fan.AccessibilityLabel(); strings.Contains(fan, "±") && len(w.record.Live.Take.Now().Reading.Pairs) < 8 {
			t.Fatalf("before 8 hits count (%s) the fan is sure: %s", w.loop.Do.Text, fan)
		}
		if len(w.take.Fan.AccessibilityLabel()) > 0 && strings.Contains(w.loop.Do.Text, " of ") && len(w.record.Live.Take.Now().Reading.Pairs) > 3 {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("no hits are counted; it said %v", said)
		}
	}
	if w.desk.Ready() || !w.loop.StopLive.Visible() || w.loop.PlayTake.Visible() {
		t.Error("other commands may run while a take is played")
	}
	if !w.take.Live.Levels.Visible() || w.take.Live.Rails[0] == nil || !strings.Contains(w.take.Live.Rails[0].AccessibilityLabel(), "good") {
		t.Errorf("the reference's level is not shown as good: %s", w.take.Live.Rails[0].AccessibilityLabel())
	}
	if !strings.Contains(w.take.Trace.AccessibilityLabel(), "pairs") || strings.Contains(w.take.Trace.AccessibilityLabel(), " 0 pairs") {
		t.Errorf("the trace shows %q", w.take.Trace.AccessibilityLabel())
	}
	if !strings.Contains(w.loop.Side.Text, "BPM") {
		t.Errorf("the tempo is not shown: %q", w.loop.Side.Text)
	}
}

// Without microphones the window first asks for them.
func TestRecordAsksForMicrophones(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 8)
	w.desk.Jobs.Spawn = func(func()) {}
	test.Tap(w.loop.PlayTake)
	if w.setup.Mics == nil || w.record.Live != nil || len(w.desk.Machine().Takes) != 0 {
		t.Fatalf("the dialog has not come up: %q", w.desk.Notice.Text.Text)
	}
	test.Tap(w.setup.Mics.Keep)
	if m := w.desk.Machine().Microphones; m == nil || m.Reference != 1 || m.Voices[0].Channel != 2 {
		t.Errorf("kept %+v", m)
	}
}

// The dialog finds the microphones by taps, and what is kept is the machine's.
func TestMicrophonesByTapping(t *testing.T) {
	w := testWindow(t)
	sound := realMachine(t, w, 8)
	sound.Source, sound.Speed = taps{}, 8
	w.desk.Jobs.Spawn = func(func()) {}
	w.setup.AskMicrophones()
	d := w.setup.Mics
	if d == nil || len(d.Channels) != 3 || d.Channels[0].Is.Selected != machine.ReferenceRole() {
		t.Fatalf("the dialog has not come up: %s", w.desk.Notice.Text.Text)
	}
	d.Check = &setup.Check{Asked: []string{machine.ReferenceRole(), "tub drum"}}
	for end := time.Now().Add(5 * time.Minute); d.Check != nil && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		d.Look()
	}
	if d.Channels[2].Is.Selected != machine.ReferenceRole() || d.Channels[0].Is.Selected != "tub drum" || d.Channels[1].Is.Selected != machine.NoRole() {
		t.Fatalf("tapped: %s, %s, %s; %s", d.Channels[0].Is.Selected, d.Channels[1].Is.Selected, d.Channels[2].Is.Selected, d.Said.Text)
	}
	test.Tap(d.Keep)
	m := w.desk.Machine().Microphones
	if m == nil || m.Reference != 3 || m.Channels != 3 || m.Device != "Replay" || len(m.Voices) != 1 || m.Voices[0].Channel != 1 {
		t.Errorf("kept %+v", m)
	}
	if w.setup.Mics != nil {
		t.Error("the dialog is still open")
	}
}

// taps is three channels: the third is tapped at 1 s, the first at 2 s.
type taps struct{}

func (taps) Rate() float64 { return 48000 }
func (taps) Channels() int { return 3 }
func (taps) Frames() int64 { return 3 * 48000 }
func (taps) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	for i := range dst {
		at := frame + int64(i)
		dst[i] = 0.001 * float32(at%7) / 7
		for tapped, second := range map[int]int64{3: 1, 1: 2} {
			if since := at - second*48000; since >= 0 && since < 4800 {
				height := 0.5 * math.Exp(-float64(since)/600) * math.Sin(float64(since)/20)
				if channel != tapped {
					height /= 30
				}
				dst[i] += float32(height)
			}
		}
	}
	return len(dst), nil
}

// Listening plays the take in sight, quietly at first, and round one hit.
func TestListening(t *testing.T) {
	w := testWindow(t)
	loud := make(chan float32, 1)
	loud <- 0
	w.desk.Sound = &capture.Replay{Source: quiet{}, Played: func(block []float32) {
		most := <-loud
		for _, v := range block {
			most = max(most, v, -v)
		}
		loud <- most
	}}
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.desk.Jobs.Spawn = func(func()) {} // the ball is looked at by hand
	test.Tap(w.take.Listen)
	if w.listening.Play == nil || !w.listening.Root.Visible() {
		t.Fatalf("nothing is listened to: %s", w.desk.Notice.Text.Text)
	}
	heard := func() float32 { most := <-loud; loud <- most; return most }
	for end := time.Now().Add(5 * time.Minute); heard() == 0 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
	}
	if most := heard(); most == 0 || most > 0.2 {
		t.Errorf("it plays with peaks of %g; want something, quietly", most)
	}
	for end := time.Now().Add(5 * time.Minute); w.listening.HeardS() <= 2 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
	}
	if at := w.listening.HeardS(); at <= 0 || at > w.take.Trace.Length() {
		t.Errorf("%g s are heard of a take of %g s", at, w.take.Trace.Length())
	}
	if most := heard(); most < 0.01 { // −40 dBFS
		t.Errorf("it plays with peaks of %g, which nobody hears", most)
	}
	w.listening.Where.SetSelectedIndex(listen.ThisHit)
	w.listening.Speed.SetSelectedIndex(2)
	test.Tap(w.take.Listen)
	if w.listening.Play != nil || w.listening.Root.Visible() {
		t.Error("it does not stop")
	}
}
