package ui

import (
	"math"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/loop"
	"lagwright/calib/practice"
	"lagwright/calib/session"
)

// realMachine is a session whose machine is heard by a device that plays the
// simulated one's sound, twice as fast.
func realMachine(t *testing.T, w *Window, hits int) *capture.Replay {
	t.Helper()
	rec, _ := practice.Default().Play(practice.Play{TempoBPM: 96, Hits: hits, Seed: 11, LeadS: 2, Rate: quickRate})
	sound := &capture.Replay{Source: rec, Speed: 2}
	w.sound = sound
	s := newSession("Test rig", "tub drum", 96, 5, time.Now())
	s.Machine.Plate = practice.Default().Plate
	w.create(s)
	return sound
}

// A take is played with both hands on the crank: one key begins it, the machine ends
// it, and the window shows what it came to.
func TestRecordedHandsFree(t *testing.T) {
	if testing.Short() {
		t.Skip("records in real time")
	}
	w := testWindow(t)
	realMachine(t, w, 40)
	if !w.loop.record.Visible() {
		t.Fatal("a real machine cannot be recorded")
	}
	if err := w.bench.SetMicrophones(session.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []session.Microphone{{Voice: "tub drum", Channel: 2}}}); err != nil {
		t.Fatal(err)
	}
	w.typed(&fyne.KeyEvent{Name: fyne.KeySpace})
	s := w.session()
	if len(s.Takes) != 1 || w.showing != s.Takes[0].ID || w.live != nil {
		t.Fatalf("%d takes, take %d in sight: %s", len(s.Takes), w.showing, w.notice.text.Text)
	}
	if at := w.view(); at.Stage != loop.AwaitMove || at.Last.LagMS < 100 || at.Last.Reading.Used() < 8 {
		t.Errorf("it came to %s with %d pairs", at.Why, at.Last.Reading.Used())
	}
	if w.take.live.levels.Visible() || w.loop.stopLive.Visible() || !w.loop.turned.Visible() {
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
	realMachine(t, w, 40)
	if err := w.bench.SetMicrophones(session.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []session.Microphone{{Voice: "tub drum", Channel: 2}}}); err != nil {
		t.Fatal(err)
	}
	w.spawn = func(func()) {} // looked at by hand
	test.Tap(w.loop.record)
	if w.live == nil {
		t.Fatal(w.notice.text.Text)
	}
	defer func() { w.leaveLive() }()
	said := map[string]bool{}
	for end := time.Now().Add(5 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
		w.look()
		said[w.loop.do.text] = true
		if len(w.take.fan.AccessibilityLabel()) > 0 && strings.Contains(w.loop.do.text, " of ") && len(w.live.take.Now().Reading.Pairs) > 3 {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("no hits are counted; it said %v", said)
		}
	}
	if w.ready() || !w.loop.stopLive.Visible() || w.loop.record.Visible() {
		t.Error("other commands may run while a take is played")
	}
	if !w.take.live.levels.Visible() || w.take.live.rails[0] == nil || !strings.Contains(w.take.live.rails[0].AccessibilityLabel(), "good") {
		t.Errorf("the reference's level is not shown as good: %s", w.take.live.rails[0].AccessibilityLabel())
	}
	if !strings.Contains(w.take.trace.AccessibilityLabel(), "pairs") || strings.Contains(w.take.trace.AccessibilityLabel(), " 0 pairs") {
		t.Errorf("the trace shows %q", w.take.trace.AccessibilityLabel())
	}
	if !strings.Contains(w.loop.side.text, "BPM") {
		t.Errorf("the tempo is not shown: %q", w.loop.side.text)
	}
}

// Without microphones the window first asks for them.
func TestRecordAsksForMicrophones(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 8)
	w.spawn = func(func()) {}
	test.Tap(w.loop.record)
	if w.mics == nil || w.live != nil || len(w.session().Takes) != 0 {
		t.Fatalf("the dialog has not come up: %q", w.notice.text.Text)
	}
	test.Tap(w.mics.keep)
	if m := w.session().Microphones; m == nil || m.Reference != 1 || m.Voices[0].Channel != 2 {
		t.Errorf("kept %+v", m)
	}
}

// The dialog finds the microphones by taps, and what is kept is the session's.
func TestMicrophonesByTapping(t *testing.T) {
	w := testWindow(t)
	sound := realMachine(t, w, 8)
	sound.Source, sound.Speed = taps{}, 8
	w.spawn = func(func()) {}
	w.askMicrophones()
	d := w.mics
	if d == nil || len(d.channels) != 3 || d.channels[0].is.Selected != onReference {
		t.Fatalf("the dialog has not come up: %s", w.notice.text.Text)
	}
	d.check = &check{asked: []string{onReference, "tub drum"}}
	for end := time.Now().Add(5 * time.Minute); d.check != nil && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		d.look()
	}
	if d.channels[2].is.Selected != onReference || d.channels[0].is.Selected != "tub drum" || d.channels[1].is.Selected != onNothing {
		t.Fatalf("tapped: %s, %s, %s; %s", d.channels[0].is.Selected, d.channels[1].is.Selected, d.channels[2].is.Selected, d.said.Text)
	}
	test.Tap(d.keep)
	m := w.session().Microphones
	if m == nil || m.Reference != 3 || m.Channels != 3 || m.Device != "Replay" || len(m.Voices) != 1 || m.Voices[0].Channel != 1 {
		t.Errorf("kept %+v", m)
	}
	if w.mics != nil {
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
	w.sound = &capture.Replay{Source: quiet{}, Played: func(block []float32) {
		most := <-loud
		for _, v := range block {
			most = max(most, v, -v)
		}
		loud <- most
	}}
	w.Practice()
	test.Tap(w.loop.playTake)
	w.spawn = func(func()) {} // the ball is looked at by hand
	test.Tap(w.take.listen)
	if w.listening.play == nil || !w.listening.root.Visible() {
		t.Fatalf("nothing is listened to: %s", w.notice.text.Text)
	}
	heard := func() float32 { most := <-loud; loud <- most; return most }
	for end := time.Now().Add(5 * time.Minute); heard() == 0 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
	}
	if most := heard(); most == 0 || most > 0.2 {
		t.Errorf("it plays with peaks of %g; want something, quietly", most)
	}
	for end := time.Now().Add(5 * time.Minute); w.listening.heardS() <= 0 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
	}
	if at := w.listening.heardS(); at <= 0 || at > w.take.trace.Length() {
		t.Errorf("%g s are heard of a take of %g s", at, w.take.trace.Length())
	}
	w.listening.where.SetSelectedIndex(thisHit)
	w.listening.speed.SetSelectedIndex(2)
	test.Tap(w.take.listen)
	if w.listening.play != nil || w.listening.root.Visible() {
		t.Error("it does not stop")
	}
}

// What was before is compared with what is now.
func TestEarlier(t *testing.T) {
	at := session.Target{TempoBPM: 96, Voice: "drum"}
	other := session.Target{TempoBPM: 120, Voice: "drum"}
	var takes []session.Take
	for i, target := range []session.Target{other, at, at, at} {
		takes = append(takes, session.Take{ID: i + 1, Target: target, Heard: []session.Heard{{Voice: "bell"}, {Voice: "drum"}}, LeftOut: i == 1})
	}
	v := loop.Look(session.Session{Machine: session.Machine{Voices: []string{"bell", "drum"}}, Target: at, Takes: takes})
	for take, want := range []int{0, 1, 2, 3} {
		one, _ := v.Result(take+1, "drum")
		got := earlier(&v, one)
		if want == 0 && got.Take != nil || want > 0 && (got.Take == nil || got.Take.ID != want || got.Voice != "drum") {
			t.Errorf("take %d is compared with %+v, want %d", take+1, got.Take, want)
		}
	}
}

// A level is said in a word.
func TestGradeOf(t *testing.T) {
	for _, c := range []struct {
		hold float64
		want handsfree.Grade
	}{{0, handsfree.NoSound}, {0.001, handsfree.TooQuiet}, {0.2, handsfree.Good}, {0.9, handsfree.TooHot}, {32767.0 / 32768, handsfree.Clipping}, {1, handsfree.Clipping}} {
		if got := gradeOf(capture.Level{Hold: c.hold}, 0); got != c.want {
			t.Errorf("%g is %q, want %q", c.hold, got, c.want)
		}
	}
}
