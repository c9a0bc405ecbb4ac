package trace

import (
	"image"
	"math"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/machine"
	"lagwright/ui/trace/picture"
)

// owned gives a trace an owner that makes every change, as the window does.
func owned(tr *Trace) *machine.Heard {
	take := &machine.Heard{Reading: tr.take.Reading}
	tr.OnEdit = func(e machine.Edit) {
		if take.Edit(e) == nil {
			tr.SetReading(take.Reading, take.Hits(machine.ReferenceChannel), take.Hits(machine.VoiceChannel))
		}
	}
	return take
}

// place returns where a hit's pin lies in a picture 1000 wide and 300 high.
func place(tr *Trace, c machine.Channel, at float64) fyne.Position {
	y := float32(60)
	if c == machine.VoiceChannel {
		y = 220
	}
	return fyne.NewPos(float32(tr.view.X(at, 0, 1000)), y)
}

func wantHit(t *testing.T, tr *Trace, what string, c machine.Channel, at float64, struck bool) {
	t.Helper()
	h, ok := tr.Hit()
	if !ok || tr.chosen.Channel != c || math.Abs(h.AtS-at) > 1e-9 || h.Struck != struck {
		t.Errorf("%s: selected %+v (%v) of the %s, want %g s of the %s, struck %v", what, h, ok, tr.chosen.Channel, at, c, struck)
	}
}

func TestTapSelectsTheHitOfItsHalf(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	tr.ZoomTo(2, 4)
	p := tr.take.Reading.Pairs[3]
	told := 0
	tr.OnHit = func() { told++ }
	test.TapAt(tr, place(tr, machine.VoiceChannel, p.VoiceS).AddXY(4, 0))
	wantHit(t, tr, "tap below", machine.VoiceChannel, p.VoiceS, false)
	test.TapAt(tr, place(tr, machine.ReferenceChannel, p.ReferenceS))
	wantHit(t, tr, "tap above", machine.ReferenceChannel, p.ReferenceS, false)
	if tr.Selected() != 3 || told != 2 {
		t.Errorf("pair %d selected, told %d times", tr.Selected(), told)
	}
	test.TapAt(tr, place(tr, machine.ReferenceChannel, p.ReferenceS-0.2))
	if _, ok := tr.Hit(); ok {
		t.Error("a tap beside the pins leaves a hit selected")
	}
}

func TestHitsByKey(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	take := owned(tr)
	pairs := take.Reading.Pairs
	v, r := machine.VoiceChannel, machine.ReferenceChannel
	tr.ShowPair(2)
	at := pairs[2].VoiceS
	for _, c := range []struct {
		do      func()
		what    string
		channel machine.Channel
		at      float64
		struck  bool
	}{
		{func() { test.Type(tr, "v") }, "v", v, at, false},
		{func() { key(tr, fyne.KeyDelete) }, "Delete", v, at, true},
		{func() { test.Type(tr, ".") }, "a struck-out hit does not move", v, at, true},
		{func() { key(tr, fyne.KeyBackspace) }, "Backspace", v, at, false},
		{func() { test.Type(tr, "..,>") }, "nudges", v, rounded(at+0.0011, keyed), false},
		{func() { key(tr, fyne.KeyDelete) }, "a moved hit shows struck out where it was found", v, at, true},
		{func() { test.Type(tr, "h") }, "h", v, pairs[3].VoiceS, false},
		{func() { test.Type(tr, "HH") }, "H", v, pairs[1].VoiceS, false},
		{func() { test.Type(tr, "n") }, "n takes the hit along", v, pairs[2].VoiceS, true},
		{func() { test.Type(tr, "r") }, "r", r, pairs[2].ReferenceS, false},
		{func() { test.Type(tr, "<") }, "a nudge of the reference", r, rounded(pairs[2].ReferenceS-0.001, keyed), false},
	} {
		c.do()
		wantHit(t, tr, c.what, c.channel, c.at, c.struck)
	}
	if take.Changed() != 2 {
		t.Errorf("%d hits changed, want 2", take.Changed())
	}
	key(tr, fyne.KeyEscape)
	if _, ok := tr.Hit(); ok || tr.Selected() != picture.None {
		t.Error("Escape leaves something selected")
	}
}

func TestInsertAddsAtTheCursor(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	take := owned(tr)
	tr.ZoomTo(2, 4)
	free := tr.take.Reading.Pairs[3].ReferenceS - 0.3
	test.TapAt(tr, place(tr, machine.ReferenceChannel, free))
	test.Type(tr, ">") // the cursor goes 1 ms on
	want := rounded(tr.cursorS, byMouse)
	if math.Abs(want-free-0.001) > 0.003 {
		t.Errorf("the cursor is at %g s, want %g", want, free+0.001)
	}
	key(tr, fyne.KeyInsert)
	wantHit(t, tr, "Insert", machine.ReferenceChannel, want, false)
	if text := tr.AccessibilityLabel(); !strings.Contains(text, "added by hand") {
		t.Errorf("the trace says %q", text)
	}
	key(tr, fyne.KeyDelete)
	if _, ok := tr.Hit(); ok || take.Changed() != 0 {
		t.Errorf("an added hit is struck out: %d changed", take.Changed())
	}
	tr.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: place(tr, machine.VoiceChannel, free)}})
	key(tr, fyne.KeyInsert)
	if h, ok := tr.Hit(); !ok || math.Abs(h.AtS-free) > 0.003 || tr.chosen.Channel != machine.VoiceChannel {
		t.Errorf("Insert under the pointer: %+v, %v", h, ok)
	}
	tr.MouseOut()
	key(tr, fyne.KeyEscape)
	key(tr, fyne.KeyInsert)
	wantHit(t, tr, "Insert without cursor or pointer", machine.VoiceChannel, 3, false)
}

// drag presses at a place, drags and lets go, as a mouse does.
func drag(tr *Trace, from fyne.Position, dx float32) {
	press := &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: from}}
	tr.MouseDown(press)
	for range 4 {
		tr.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: from}, Dragged: fyne.NewDelta(dx/4, 0)})
		tr.board.Paint(1000, 300)
	}
	tr.MouseUp(press)
	tr.DragEnd()
}

func TestDragMovesTheSelectedPin(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	take := owned(tr)
	p := take.Reading.Pairs[3]
	tr.ZoomTo(2, 4.5)
	test.TapAt(tr, place(tr, machine.VoiceChannel, p.VoiceS))
	drag(tr, place(tr, machine.VoiceChannel, p.VoiceS), 100)
	wantView(t, tr, 1.75, 4.25) // too long a view: it pans
	tr.ZoomTo(2.2, 3.2)
	drag(tr, place(tr, machine.VoiceChannel, p.VoiceS), 20)
	wantHit(t, tr, "dragged by 20 ms", machine.VoiceChannel, rounded(p.VoiceS+0.02, byMouse), false)
	wantView(t, tr, 2.2, 3.2)
	drag(tr, place(tr, machine.ReferenceChannel, p.ReferenceS), 100) // not the selected one
	wantView(t, tr, 2.1, 3.1)
	if take.Changed() != 1 {
		t.Errorf("%d hits changed, want 1", take.Changed())
	}
}

// Without an owner, or where the owner refuses, nothing changes.
func TestRefusedChange(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	tr.ShowPair(2)
	at := tr.take.Reading.Pairs[2].VoiceS
	asked := 0
	for _, owner := range []func(machine.Edit){nil, func(machine.Edit) { asked++ }} {
		tr.OnEdit = owner
		test.Type(tr, "v.")
		key(tr, fyne.KeyDelete)
		key(tr, fyne.KeyInsert)
		wantHit(t, tr, "refused", machine.VoiceChannel, at, false)
	}
	if asked != 3 {
		t.Errorf("asked %d times, want 3", asked)
	}
}

// Each mark can be told from an untouched pin by its shape alone.
func TestMarksAreDrawn(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	take := owned(tr)
	tr.ZoomTo(2, 4)
	draw := func() []byte { return slices.Clone(tr.board.Paint(1000, 300).(*image.RGBA).Pix) }
	seen := [][]byte{draw()}
	tr.NextPair()
	for _, do := range []func(){
		func() { test.Type(tr, "v") },
		func() { key(tr, fyne.KeyDelete) },
		func() { key(tr, fyne.KeyEscape) },
		func() {
			*take = machine.Heard{Reading: take.Found()}
			tr.SetReading(take.Reading, take.Hits("reference"), take.Hits("voice"))
			tr.NextPair()
			test.Type(tr, "v>")
			key(tr, fyne.KeyEscape)
		},
	} {
		do()
		now := draw()
		for i, before := range seen {
			if slices.Equal(now, before) {
				t.Errorf("picture %d is like picture %d", len(seen), i)
			}
		}
		seen = append(seen, now)
	}
}
