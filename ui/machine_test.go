package ui

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// ownMachine opens a session with a machine of the builder's own.
func ownMachine(t *testing.T) *Window {
	t.Helper()
	w := testWindow(t)
	w.create(newSession("Barn machine", "drum, block", 84, 5, time.Now()))
	return w
}

// The dialog is filled in from the keyboard alone: Tab goes from field to field,
// Enter keeps. What was typed is in the session, and Undo takes it back.
func TestMachineFromTheKeyboard(t *testing.T) {
	w := ownMachine(t)
	before := w.session()
	command(t, w, "The machine…").Action()
	canvas := w.win.Canvas()
	for _, typed := range []string{"Barn machine", "4", "2", "", "96", "0,5", "16", "240", "tub", "300", "11", "Steel"} {
		e, ok := canvas.Focused().(fyne.Focusable)
		if !ok {
			t.Fatalf("the keyboard is on %T before %q", canvas.Focused(), typed)
		}
		if box, ok := e.(*tick); ok {
			box.TypedRune(' ')
		} else {
			clear(e)
			test.Type(e, typed)
		}
		if typed == "Steel" {
			e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
			break
		}
		test.FocusNext(canvas)
	}
	if canvas.Overlays().Top() != nil {
		said, _ := dialogIn(t, w)
		t.Fatalf("it is not kept: %s", said)
	}
	s := w.session()
	want := session.Machine{
		Name: "Barn machine", Plate: calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 0.5}, Voices: []string{"tub", "block"}, PerBeat: 2,
		Falls: []session.Fall{{Voice: "tub", DropMM: 300, DiameterMM: 11, KGPerM3: 7800}}, Wheel: session.Wheel{BeatsPerTurn: 16, PinRadiusMM: 240}, Unidirectional: true,
	}
	if !reflect.DeepEqual(s.Machine, want) || s.ToleranceMS != 4 || s.Target.Voice != "tub" {
		t.Errorf("kept %+v, tolerance %g, aimed at %+v; want %+v", s.Machine, s.ToleranceMS, s.Target, want)
	}
	command(t, w, "Undo").Action()
	if !reflect.DeepEqual(w.session(), before) {
		t.Errorf("undone it is %+v", w.session().Machine)
	}
}

// clear empties an entry as somebody does who types over it.
func clear(e fyne.Focusable) {
	switch e := e.(type) {
	case *cell:
		e.SetText("")
	case *field:
		e.SetText("")
	case interface{ SetText(string) }:
		e.SetText("")
	}
}

// What cannot be is said in the dialog, which stays with all that was typed.
func TestMachineRefuses(t *testing.T) {
	w := ownMachine(t)
	recordTub := record(t, "crank.wav")
	w.openRecording(recordTub, false)
	before := w.session()
	f := w.showMachine()
	for _, c := range []struct {
		says string
		make func()
		back func()
	}{
		{"a number from 0.5 to 100", func() { f.tolerance.SetText("none") }, func() { f.tolerance.SetText("5") }},
		{"both its notches and its turns", func() { f.notches.SetText("96") }, func() { f.notches.SetText("") }},
		{"no number of mm", func() { f.voices[0].drop.SetText("high") }, func() { f.voices[0].drop.SetText("") }},
		{"0 to 5000", func() { f.voices[0].drop.SetText("-3") }, func() { f.voices[0].drop.SetText("") }},
		{"is neither one of steel, lead", func() { f.voices[1].made.SetText("cheese") }, func() { f.voices[1].made.SetText("2700") }},
		{"are called \"drum\"", func() { f.voices[1].name.SetText("drum") }, func() { f.voices[1].name.SetText("block") }},
		{"The drum stays: 1 of the takes", func() { test.Tap(f.voices[0].gone) }, func() { f.add("drum", session.Fall{}) }},
	} {
		c.make()
		test.Tap(f.keep)
		if !f.problem.Visible() || !strings.Contains(f.problem.Text, c.says) || !strings.HasSuffix(f.problem.Text, ".") {
			t.Errorf("says %q, want %q", f.problem.Text, c.says)
		}
		c.back()
	}
	if !reflect.DeepEqual(w.session(), before) {
		t.Error("what was refused is kept")
	}
	f.add("", session.Fall{})
	f.voices[2].name.SetText("gong")
	test.Tap(f.keep)
	if got := w.session().Machine; w.win.Canvas().Overlays().Top() != nil || !reflect.DeepEqual(got.Voices, []string{"block", "drum", "gong"}) || got.Fall("block").KGPerM3 != 2700 {
		t.Errorf("kept %+v; %s", got, f.problem.Text)
	}
	if w.session().Takes[0].Target.Voice != "drum" {
		t.Error("the take lost its voice")
	}
}

// It fits a small window, with many voices too: what the keyboard is on is in sight.
func TestMachineInASmallWindow(t *testing.T) {
	w := ownMachine(t)
	w.win.Resize(fyne.NewSize(1024, 700))
	f := w.showMachine()
	for range 12 {
		f.add("", session.Fall{})
	}
	top := w.win.Canvas().Overlays().Top()
	test.LaidOutObjects(top)
	for _, o := range []fyne.CanvasObject{f.keep, f.name, f.radius} {
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
		if at.X < 0 || at.Y < 0 || at.X+o.Size().Width > 1024 || at.Y+o.Size().Height > 700 {
			t.Errorf("%T lies at %v with %v", o, at, o.Size())
		}
	}
	f.step(13, 0)
	row := f.voices[13].root
	if y := row.Position().Y - f.scroll.Offset.Y; y < 0 || y+row.Size().Height > f.scroll.Size().Height+1 {
		t.Errorf("the last voice lies at %g of %g", y, f.scroll.Size().Height)
	}
	f.voices[13].name.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	if w.win.Canvas().Focused() != f.voices[12].name {
		t.Errorf("up goes to %T", w.win.Canvas().Focused())
	}
}

// The simulated machine's voices are its own.
func TestMachineOfPractice(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	f := w.showMachine()
	said, buttons := dialogIn(t, w)
	if !f.voices[0].name.Disabled() || buttons["Remove"] != nil || buttons["Add voice"] != nil || !strings.Contains(said, "simulated machine keeps its voices") {
		t.Errorf("says %q, offers %v", said, buttons)
	}
	f.voices[0].drop.SetText("285")
	test.Tap(f.keep)
	if got := w.session().Machine.Fall("tub drum").DropMM; got != 285 {
		t.Errorf("the drop is %g mm; %s", got, f.problem.Text)
	}
}

// The take in sight stays in sight under its voice's new name, and under the old one
// once that is undone.
func TestVoiceInSightIsRenamed(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	m := w.bench.Session().Machine
	was := slices.Clone(m.Voices)
	m.Voices[0] = "tub"
	w.changed("", w.bench.EditMachine(m, 5, was))
	in := func(voice string) {
		t.Helper()
		if r, ok := w.inSight(); !ok || r.Voice != voice || !strings.Contains(w.take.head.Text, " "+voice+" ") || command(t, w, "How sure?").Disabled {
			t.Errorf("in sight is the %q: %s", r.Voice, w.take.head.Text)
		}
	}
	in("tub")
	w.undo()
	in("tub drum")
}

// Once agreed, each move says how to end it ahead.
func TestEndAheadIsSaid(t *testing.T) {
	m := session.Machine{}
	if got := behindWords(m, -4); got != "" {
		t.Errorf("nothing was agreed: %q", got)
	}
	m.Unidirectional = true
	if got := behindWords(m, -4); !strings.Contains(got, "turn 7 back, then 3 ahead") {
		t.Errorf("4 back: %q", got)
	}
	if got := behindWords(m, 4); !strings.Contains(got, "end ahead") {
		t.Errorf("4 ahead: %q", got)
	}
}

// A take that was played off its tempo says where its lag is brought from.
func TestTakeOffItsTempo(t *testing.T) {
	take := &session.Take{ID: 2, Target: session.Target{TempoBPM: 84}}
	p := &recordPane{taken: []loop.Result{{Take: take, Heard: session.Heard{Reading: calib.Reading{TempoBPM: 82.1}}, Outcome: loop.Move, LagMS: 12.3, HalfMS: 0.5}}}
	if got := p.takeRow(0); !strings.Contains(got, "12.3 ms late ± 0.5, brought there from 82.1 BPM") {
		t.Errorf("off the tempo: %q", got)
	}
	p.taken[0].Reading.TempoBPM = 84.3
	if got := p.takeRow(0); strings.Contains(got, "brought") {
		t.Errorf("near the tempo: %q", got)
	}
}
