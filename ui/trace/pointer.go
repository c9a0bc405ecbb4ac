package trace

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"lagwright/calib/machine"
	"lagwright/ui/trace/picture"
)

// pointing is the mouse: taps, drags, the wheel, and the pin that is held.
type pointing struct {
	editing
	gripped  bool // the selected pin is held
	dragging bool // and was dragged
	dragS    float64
}

// Tapped selects the hit near the pointer with its pair, or else the pair under
// the pointer, where it leaves the cursor; it takes the focus.
func (t *pointing) Tapped(e *fyne.PointEvent) {
	t.Focus()
	if p := t.pinAt(e.Position); p.Channel != "" {
		t.choose(p)
		return
	}
	t.aim(e.Position)
	t.pick(t.near(float64(e.Position.X)))
}

// DoubleTapped zooms to the pair under the pointer, or back out to the whole
// take where there is none.
func (t *pointing) DoubleTapped(e *fyne.PointEvent) {
	t.Focus()
	if i := t.near(float64(e.Position.X)); i != picture.None {
		t.ShowPair(i)
		return
	}
	t.ShowAll()
}

// Dragged moves the pin that is held, or else pans with the pointer.
func (t *pointing) Dragged(e *fyne.DragEvent) {
	if t.gripped {
		t.dragPin(float64(e.Dragged.DX))
		return
	}
	t.Hands.Dragged(e)
}

// DragEnd ends a pan, or leaves a pin where it is.
func (t *pointing) DragEnd() { t.dropPin() }

// MouseIn follows the pointer.
func (t *pointing) MouseIn(e *desktop.MouseEvent) { t.MouseMoved(e) }

// MouseMoved shows what is known of the pair under the pointer.
func (t *pointing) MouseMoved(e *desktop.MouseEvent) {
	t.pointer, t.pointed = e.Position, true
	t.hover(t.near(float64(e.Position.X)))
}

// MouseOut forgets the pointer.
func (t *pointing) MouseOut() {
	t.pointed = false
	t.hover(picture.None)
}

// Cursor is a cross: moments are pointed at; over a pin that a drag would move,
// it points both ways.
func (t *pointing) Cursor() desktop.Cursor {
	if t.dragging || t.pointed && t.grips(t.pointer) {
		return desktop.HResizeCursor
	}
	return desktop.CrosshairCursor
}

// MouseDown takes hold of the selected pin if it is pressed from near enough.
func (t *pointing) MouseDown(e *desktop.MouseEvent) { t.gripped = t.grips(e.Position) }

// MouseUp lets go of a pin that was not dragged.
func (t *pointing) MouseUp(*desktop.MouseEvent) {
	if !t.dragging {
		t.gripped = false
	}
}

// grips reports whether a drag from here would move the selected hit.
func (t *pointing) grips(pos fyne.Position) bool {
	h, ok := t.Hit()
	return ok && !h.Struck && t.view.Width() < gripSpan && t.pinAt(pos) == t.chosen
}

// dragPin moves the pin that is held along with the pointer.
func (t *pointing) dragPin(dx float64) {
	if !t.dragging {
		t.dragging, t.dragS = true, t.chosen.AtS
	}
	if width := t.width(); width > 0 {
		t.dragS += dx / width * t.view.Width()
	}
	t.on.Refresh()
}

// dropPin makes the hit stay where its pin was dragged.
func (t *pointing) dropPin() {
	if !t.dragging {
		return
	}
	t.dragging, t.gripped = false, false
	t.moveTo(rounded(t.dragS, byMouse))
	t.on.Refresh()
}

// typing is the keyboard: every key that does not zoom or pan.
type typing struct{ pointing }

// keys returns what the keys do that are no letters, and what those do that write
// something. Shift makes a nudge longer; what it writes depends on the keyboard.
func (t *typing) keys() (map[fyne.KeyName]func(), map[rune]func()) {
	hit := func(by int) func() { return func() { t.stepHit(by) } }
	of := func(c machine.Channel) func() { return func() { t.chooseOf(c) } }
	nudge := func(byS float64) func() { return func() { t.nudge(byS) } }
	shown := func() { t.ShowPair(t.selected) }
	return map[fyne.KeyName]func(){
			fyne.KeyPageDown: t.NextPair, fyne.KeyPageUp: t.PrevPair,
			fyne.KeyReturn: shown, fyne.KeyEnter: shown, fyne.KeyInsert: t.AddHit, fyne.KeyDelete: t.StrikeOut, fyne.KeyBackspace: t.StrikeOut,
			fyne.KeyEscape: func() {
				t.choose(picture.Pin{})
				t.pick(picture.None)
			},
		}, map[rune]func(){
			'n': t.NextPair, 'N': t.NextPair, 'p': t.PrevPair, 'P': t.PrevPair, 'h': hit(1), 'H': hit(-1),
			'r': of(machine.ReferenceChannel), 'R': of(machine.ReferenceChannel), 'v': of(machine.VoiceChannel), 'V': of(machine.VoiceChannel),
			',': nudge(-nudgeS), '.': nudge(nudgeS), '<': nudge(-nudgesS), ';': nudge(-nudgesS), '>': nudge(nudgesS), ':': nudge(nudgesS),
		}
}

// TypedKey obeys the keys that are no letters.
func (t *typing) TypedKey(e *fyne.KeyEvent) {
	if keys, _ := t.keys(); keys[e.Name] != nil {
		keys[e.Name]()
	} else {
		t.Hands.TypedKey(e)
	}
}

// TypedRune obeys the keys that write something.
func (t *typing) TypedRune(r rune) {
	if _, runes := t.keys(); runes[r] != nil {
		runes[r]()
	} else {
		t.Hands.TypedRune(r)
	}
}
