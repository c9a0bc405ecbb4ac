package trace

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"lagwright/ui/trace/picture"
)

// pointing is the mouse: taps, drags, the wheel, and the pin that is held.
type pointing struct {
	editing
	focus    func() // makes the keys reach the trace
	gripped  bool   // the selected pin is held
	dragging bool   // and was dragged
	dragS    float64
}

// Tapped selects the hit near the pointer with its pair, or else the pair under
// the pointer, where it leaves the cursor; it takes the focus.
func (t *pointing) Tapped(e *fyne.PointEvent) {
	t.focus()
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
	t.focus()
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
	t.panBy(-float64(e.Dragged.DX))
}

// DragEnd ends a pan, or leaves a pin where it is.
func (t *pointing) DragEnd() { t.dropPin() }

// wheelHalf is how much scrolling, in the toolkit's device-independent pixels,
// shows half as much.
const wheelHalf = 60

// Scrolled zooms about the pointer for vertical scrolling, with or without
// Control, and pans for horizontal.
func (t *pointing) Scrolled(e *fyne.ScrollEvent) {
	dx, dy := float64(e.Scrolled.DX), float64(e.Scrolled.DY)
	if math.Abs(dx) > math.Abs(dy) {
		t.panBy(-dx)
		return
	}
	at := t.view.At(float64(e.Position.X), float64(t.on.Size().Width))
	t.setView(t.view.Zoom(math.Exp2(-dy/wheelHalf), at))
}

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
	return ok && !h.Struck && t.view.Span() < gripSpan && t.pinAt(pos) == t.chosen
}

// dragPin moves the pin that is held along with the pointer.
func (t *pointing) dragPin(dx float64) {
	if !t.dragging {
		t.dragging, t.dragS = true, t.chosen.AtS
	}
	if width := float64(t.on.Size().Width); width > 0 {
		t.dragS += dx / width * t.view.Span()
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
