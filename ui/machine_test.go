package ui

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/shelf"
	"lagwright/ui/table"
)

// ownMachine opens a machine of the builder's own.
func ownMachine(t *testing.T) *Window {
	t.Helper()
	w := testWindow(t)
	w.welcome.Create(shelf.NewMachine("Barn machine", "drum, block", 84, 5))
	return w
}

// The dialog is filled in from the keyboard alone: Tab goes from field to field,
// Enter keeps. What was typed is in the machine, and Undo takes it back.
func TestMachineFromTheKeyboard(t *testing.T) {
	w := ownMachine(t)
	before := w.desk.Machine()
	command(t, w, "Plate, voices and build…").Action()
	canvas := w.desk.Win.Canvas()
	for _, typed := range []string{"96", "0,5", "16", "240", "4", "2", "", "", "tub", "300", "11", "Steel"} {
		e, ok := canvas.Focused().(fyne.Focusable)
		if !ok {
			t.Fatalf("the keyboard is on %T before %q", canvas.Focused(), typed)
		}
		if box, ok := e.(*kit.Tick); ok {
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
	m := w.desk.Machine()
	want := machine.Build{
		Name: before.Build.Name, Plate: calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 0.5}, Voices: []string{"tub", "block"}, PerBeat: 2,
		Falls: []machine.Fall{{Voice: "tub", DropMM: 300, DiameterMM: 11, KGPerM3: 7800}}, Wheel: machine.Wheel{BeatsPerTurn: 16, PinRadiusMM: 240}, Unidirectional: true, Steady: true,
	}
	if !reflect.DeepEqual(m.Build, want) || m.ToleranceMS != 4 || m.Target.Voice != "tub" {
		t.Errorf("kept %+v, tolerance %g, aimed at %+v; want %+v", m.Build, m.ToleranceMS, m.Target, want)
	}
	command(t, w, "Undo").Action()
	if !reflect.DeepEqual(w.desk.Machine(), before) {
		t.Errorf("undone it is %+v", w.desk.Machine().Build)
	}
}

// clear empties an entry as somebody does who types over it.
func clear(e fyne.Focusable) {
	switch e := e.(type) {
	case *table.Cell:
		e.SetText("")
	case *kit.Field:
		e.SetText("")
	case interface{ SetText(string) }:
		e.SetText("")
	}
}

// What cannot be is said in the dialog, which stays with all that was typed.
func TestMachineRefuses(t *testing.T) {
	w := ownMachine(t)
	recordTub := recording(t, "crank.wav")
	w.record.OpenRecording(recordTub, false)
	before := w.desk.Machine()
	f := w.setup.ShowMachine()
	for _, c := range []struct {
		says string
		make func()
		back func()
	}{
		{"a number from 0.5 to 100", func() { f.Tolerance.SetText("none") }, func() { f.Tolerance.SetText("5") }},
		{"both its notches and its turns", func() { f.Notches.SetText("96") }, func() { f.Notches.SetText("") }},
		{"not a number of mm", func() { f.Voices[0].Drop.SetText("high") }, func() { f.Voices[0].Drop.SetText("") }},
		{"0 to 5000", func() { f.Voices[0].Drop.SetText("-3") }, func() { f.Voices[0].Drop.SetText("") }},
		{"is neither one of steel, lead", func() { f.Voices[1].Made.SetText("cheese") }, func() { f.Voices[1].Made.SetText("2700") }},
		{"are called \"drum\"", func() { f.Voices[1].Name.SetText("drum") }, func() { f.Voices[1].Name.SetText("block") }},
		{"The drum stays: 1 of the takes", func() { test.Tap(f.Voices[0].Gone) }, func() { f.Add("drum", machine.Fall{}) }},
	} {
		c.make()
		test.Tap(f.Keep)
		if !f.Problem.Visible() || !strings.Contains(f.Problem.Text, c.says) || !strings.HasSuffix(f.Problem.Text, ".") {
			t.Errorf("says %q, want %q", f.Problem.Text, c.says)
		}
		c.back()
	}
	if !reflect.DeepEqual(w.desk.Machine(), before) {
		t.Error("what was refused is kept")
	}
	f.Add("", machine.Fall{})
	f.Voices[2].Name.SetText("gong")
	test.Tap(f.Keep)
	if got := w.desk.Machine().Build; w.desk.Win.Canvas().Overlays().Top() != nil || !reflect.DeepEqual(got.Voices, []string{"block", "drum", "gong"}) || got.Fall("block").KGPerM3 != 2700 {
		t.Errorf("kept %+v; %s", got, f.Problem.Text)
	}
	if w.desk.Machine().Takes[0].Target.Voice != "drum" {
		t.Error("the take lost its voice")
	}
}

// It fits a small window, with many voices too: what the keyboard is on is in sight.
func TestMachineInASmallWindow(t *testing.T) {
	w := ownMachine(t)
	w.desk.Win.Resize(fyne.NewSize(1024, 700))
	f := w.setup.ShowMachine()
	for range 12 {
		f.Add("", machine.Fall{})
	}
	top := w.desk.Win.Canvas().Overlays().Top()
	test.LaidOutObjects(top)
	for _, o := range []fyne.CanvasObject{f.Keep, f.Tolerance, f.Radius} {
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
		if at.X < 0 || at.Y < 0 || at.X+o.Size().Width > 1024 || at.Y+o.Size().Height > 700 {
			t.Errorf("%T lies at %v with %v", o, at, o.Size())
		}
	}
	f.Step(13, 0)
	row := f.Voices[13].Root
	if y := row.Position().Y - f.Scroll.Offset.Y; y < 0 || y+row.Size().Height > f.Scroll.Size().Height+1 {
		t.Errorf("the last voice lies at %g of %g", y, f.Scroll.Size().Height)
	}
	f.Voices[13].Name.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	if w.desk.Win.Canvas().Focused() != f.Voices[12].Name {
		t.Errorf("up goes to %T", w.desk.Win.Canvas().Focused())
	}
}

// The simulated machine's voices are its own.
func TestMachineOfPractice(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	f := w.setup.ShowMachine()
	said, buttons := dialogIn(t, w)
	if !f.Voices[0].Name.Disabled() || buttons["Remove"] != nil || buttons["Add voice"] != nil || !strings.Contains(said, "simulated machine keeps its voices") {
		t.Errorf("says %q, offers %v", said, buttons)
	}
	f.Voices[0].Drop.SetText("285")
	test.Tap(f.Keep)
	if got := w.desk.Machine().Build.Fall("tub drum").DropMM; got != 285 {
		t.Errorf("the drop is %g mm; %s", got, f.Problem.Text)
	}
}

// The take in sight stays in sight under its voice's new name, and under the old one
// once that is undone.
func TestVoiceInSightIsRenamed(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	b := w.desk.Bench.Machine().Build
	was := slices.Clone(b.Voices)
	b.Voices[0] = "tub"
	w.desk.Do("", w.desk.Bench.EditMachine(b, 5, was))
	in := func(voice string) {
		t.Helper()
		if r, ok := w.take.InSight(); !ok || r.Voice != voice || !strings.Contains(w.take.Head.Text, " "+voice+" ") || command(t, w, "How sure?").Disabled {
			t.Errorf("in sight is the %q: %s", r.Voice, w.take.Head.Text)
		}
	}
	in("tub")
	w.undo()
	in("tub drum")
}

// An entry of the machine's log is changed, and taken out again; undo brings it back.
func TestLogIsChangedLater(t *testing.T) {
	w := ownMachine(t)
	ask := func(entry int) (words *kit.Field, out *kit.Tick) {
		w.setup.AskLog()
		if rows := inDialog[*kit.Rows](t, w); len(rows) > 0 {
			rows[0].Select(entry)
		}
		ticks, fields := inDialog[*kit.Tick](t, w), inDialog[*kit.Field](t, w)
		return fields[len(fields)-1], ticks[len(ticks)-1]
	}
	log := func() []machine.LogEntry { return w.desk.Machine().Build.Log }
	for _, said := range []string{"gate filed", "felt glued"} {
		words, _ := ask(0)
		words.SetText(said)
		pressIn(t, w, "Write down")
	}
	if len(log()) != 2 || log()[1].Words != "felt glued" {
		t.Fatalf("the log is %+v", log())
	}
	first := log()[0]
	words, _ := ask(2) // the oldest comes last
	if words.Text != "gate filed" {
		t.Errorf("chosen is %q", words.Text)
	}
	words.SetText("gate filed and oiled")
	pressIn(t, w, "Write down")
	if got := log()[0]; len(log()) != 2 || got.Words != "gate filed and oiled" || !got.At.Equal(first.At) || got.Part != first.Part {
		t.Errorf("changed, the log is %+v", log())
	}
	_, out := ask(1)
	out.SetChecked(true)
	pressIn(t, w, "Write down")
	if len(log()) != 1 || log()[0].Words != "gate filed and oiled" || !strings.Contains(w.desk.Notice.Text.Text, "Removed from") {
		t.Errorf("taken out, the log is %+v, and it says %q", log(), w.desk.Notice.Text.Text)
	}
	w.undo()
	if len(log()) != 2 {
		t.Errorf("brought back, the log is %+v", log())
	}
}
