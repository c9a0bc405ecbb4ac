package ui

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/takes"
)

// command returns a command of the menu as it stands; Undo and Redo say more after it.
func command(t *testing.T, w *Window, label string) *fyne.MenuItem {
	t.Helper()
	var within func(m *fyne.Menu) *fyne.MenuItem
	within = func(m *fyne.Menu) *fyne.MenuItem {
		for _, i := range m.Items {
			words, _, _ := strings.Cut(i.Label, "  ") // the keys are behind
			if word, _, _ := strings.Cut(words, ": "); words == label || word == label {
				return i
			}
			if i.ChildMenu != nil {
				if i := within(i.ChildMenu); i != nil {
					return i
				}
			}
		}
		return nil
	}
	for _, m := range w.desk.Win.MainMenu().Items {
		if i := within(m); i != nil {
			return i
		}
	}
	t.Fatalf("no command %q in the menu", label)
	return nil
}

// An outlier that still counts is struck out, brought back and struck out again:
// reading, headline and menu follow.
func TestStrikeOutUndoRedo(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	found, _ := w.take.InSight()
	for _, c := range []string{"Redo", "Strike out hit"} {
		if !command(t, w, c).Disabled {
			t.Errorf("%s is offered before there is anything to do", c)
		}
	}
	worst, off := 0, 0.0
	for i, p := range found.Reading.Pairs {
		if d := math.Abs(p.LagMS - found.Reading.LagMS); p.Used && d > off {
			worst, off = i, d
		}
	}
	tr := w.take.Trace
	tr.ShowPair(worst)
	test.Type(tr, "v")
	if h, ok := tr.Hit(); !ok || h.AtS != found.Reading.Pairs[worst].VoiceS || command(t, w, "Strike out hit").Disabled {
		t.Fatalf("V selects %+v, %v, want the voice hit at %g s", h, ok, found.Reading.Pairs[worst].VoiceS)
	}
	tr.TypedKey(&fyne.KeyEvent{Name: fyne.KeyDelete})
	struck, _ := w.take.InSight()
	if struck.Reading.Used() != found.Reading.Used()-1 || struck.Reading.JitterMS >= found.Reading.JitterMS || !strings.Contains(w.take.Head.Text, "1 hit changed by hand") {
		t.Errorf("without the outlier: %d used, jitter %.2f of %.2f ms, head %q", struck.Reading.Used(), struck.Reading.JitterMS, found.Reading.JitterMS, w.take.Head.Text)
	}
	if head := w.take.Head.Text; strings.Index(head, "hit changed by hand") > strings.Index(head, "plate at") {
		t.Errorf("a narrow window cuts what was changed: %q", head)
	}
	if command(t, w, "Put hit back").Disabled || command(t, w, "Undo").Disabled {
		t.Error("the menu does not offer to put the hit back or to undo")
	}
	command(t, w, "Undo").Action()
	if got, _ := w.take.InSight(); got.Reading.LagMS != found.Reading.LagMS || got.ByHand != nil || w.take.Head.Text != takes.HeadOf(found) {
		t.Errorf("undone: lag %g ms, found %g; head %q", got.Reading.LagMS, found.Reading.LagMS, w.take.Head.Text)
	}
	if !strings.HasPrefix(command(t, w, "Undo").Label, "Undo: take 1 ") || command(t, w, "Redo").Disabled {
		t.Error("after undoing, the menu should offer the take before it, and Redo")
	}
	command(t, w, "Redo").Action()
	if got, _ := w.take.InSight(); got.Reading.LagMS != struck.Reading.LagMS || w.loop.Lag.Text == "" {
		t.Errorf("made again: lag %g ms, was %g", got.Reading.LagMS, struck.Reading.LagMS)
	}
	command(t, w, "Put hit back").Action()
	if got, _ := w.take.InSight(); got.Changed() != 0 || got.Reading.LagMS != found.Reading.LagMS {
		t.Errorf("put back: lag %g ms, found %g", got.Reading.LagMS, found.Reading.LagMS)
	}
}

// Hits changed by hand are there again when the machine is opened again.
func TestHitsByHandAreKept(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.take.Trace.ShowPair(2)
	test.Type(w.take.Trace, "v..r>")
	want, dir := w.take.Head.Text, w.desk.Bench.Dir()
	if !strings.Contains(want, "2 hits changed by hand") {
		t.Errorf("two hits nudged: %q", want)
	}
	w.closeMachine()
	w.Open(dir)
	if got := w.take.Head.Text; got != want {
		t.Errorf("reopened: %q, left %q", got, want)
	}
	if !command(t, w, "Undo").Disabled {
		t.Error("what was changed before the machine was opened can be undone")
	}
	w.take.Trace.ShowAll()
	command(t, w, "Add hit").Action()
	if got, _ := w.take.InSight(); got.Changed() != 3 {
		t.Errorf("a hit added: %d changed", got.Changed())
	}
}

// Under a dialog no hit is touched, and Undo is for what is typed there.
func TestNoHitIsTouchedUnderADialog(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.take.Trace.ShowPair(2)
	test.Type(w.take.Trace, "v.")
	before, _ := w.take.InSight()
	w.welcome.AskMachine()
	var typed *kit.Field
	for _, o := range test.LaidOutObjects(w.desk.Win.Canvas().Overlays().Top()) {
		if e, ok := o.(*kit.Field); ok && typed == nil {
			typed = e
		}
	}
	w.desk.Win.Canvas().Focus(typed)
	was := typed.Text
	test.Type(typed, "x")
	w.undo()
	if typed.Text != was {
		t.Errorf("Undo in a field leaves %q, want %q", typed.Text, was)
	}
	for name, do := range map[string]func(){
		"undo": w.undo, "redo": w.redo, "strike out": w.take.StrikeOut, "add": w.take.AddHit, "nudge": func() { test.Type(w.take.Trace, ".") },
		"delete": func() { w.take.Trace.TypedKey(&fyne.KeyEvent{Name: fyne.KeyDelete}) },
	} {
		do()
		if got, _ := w.take.InSight(); got.Changed() != before.Changed() || got.Reading.LagMS != before.Reading.LagMS || len(got.ByHand.Edits) != 1 {
			t.Errorf("%s went through under a dialog", name)
		}
	}
}

// A change that cannot be is a sentence, and changes nothing.
func TestImpossibleChangeIsSaid(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.take.EditHit(machine.StrikeOut(machine.VoiceChannel, 1e-3))
	if got := w.desk.Notice.Text.Text; !strings.Contains(got, "no hit at 0.0010 s") {
		t.Errorf("the window says %q", got)
	}
}
