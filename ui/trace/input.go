package trace

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"lagwright/calib/session"
)

// Tapped selects the hit near the pointer with its pair, or else the pair under
// the pointer, where it leaves the cursor; it takes the focus.
func (t *Trace) Tapped(e *fyne.PointEvent) {
	t.grabFocus()
	if p := t.pinAt(e.Position); p.channel != "" {
		t.choose(p)
		return
	}
	t.aim(e.Position)
	t.pick(t.near(float64(e.Position.X)))
}

// DoubleTapped zooms to the pair under the pointer, or back out to the whole
// take where there is none.
func (t *Trace) DoubleTapped(e *fyne.PointEvent) {
	t.grabFocus()
	if i := t.near(float64(e.Position.X)); i != none {
		t.ShowPair(i)
		return
	}
	t.ShowAll()
}

// grabFocus makes the keys reach the trace.
func (t *Trace) grabFocus() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(t); c != nil {
		c.Focus(t)
	}
}

// Dragged moves the pin that is held, or else pans with the pointer.
func (t *Trace) Dragged(e *fyne.DragEvent) {
	if t.gripped {
		t.dragPin(float64(e.Dragged.DX))
		return
	}
	t.panBy(-float64(e.Dragged.DX))
}

// DragEnd ends a pan, or leaves a pin where it is.
func (t *Trace) DragEnd() { t.dropPin() }

// panBy moves the view by device-independent pixels, to the right if positive.
func (t *Trace) panBy(dx float64) {
	if width := float64(t.Size().Width); width > 0 {
		t.setView(t.view.pan(dx / width * t.view.span()))
	}
}

// wheelHalf is how much scrolling, in the toolkit's device-independent pixels,
// shows half as much.
const wheelHalf = 60

// Scrolled zooms about the pointer for vertical scrolling, with or without
// Control, and pans for horizontal.
func (t *Trace) Scrolled(e *fyne.ScrollEvent) {
	dx, dy := float64(e.Scrolled.DX), float64(e.Scrolled.DY)
	if math.Abs(dx) > math.Abs(dy) {
		t.panBy(-dx)
		return
	}
	at := t.view.at(float64(e.Position.X), float64(t.Size().Width))
	t.setView(t.view.zoom(math.Exp2(-dy/wheelHalf), at))
}

// arrowShare is the part of the view an arrow key moves by.
const arrowShare = 0.2

// TypedKey obeys the keys that are no letters.
func (t *Trace) TypedKey(e *fyne.KeyEvent) {
	v := t.view
	switch e.Name {
	case fyne.KeyLeft:
		t.setView(v.pan(-v.span() * arrowShare))
	case fyne.KeyRight:
		t.setView(v.pan(v.span() * arrowShare))
	case fyne.KeyUp:
		t.ZoomIn()
	case fyne.KeyDown:
		t.ZoomOut()
	case fyne.KeyHome:
		t.setView(v.pan(-v.length))
	case fyne.KeyEnd:
		t.setView(v.pan(v.length))
	case fyne.KeyPageDown:
		t.NextPair()
	case fyne.KeyPageUp:
		t.PrevPair()
	case fyne.KeyReturn, fyne.KeyEnter:
		t.ShowPair(t.selected)
	case fyne.KeyDelete, fyne.KeyBackspace:
		t.StrikeOut()
	case fyne.KeyInsert:
		t.AddHit()
	case fyne.KeyEscape:
		t.choose(pin{})
		t.pick(none)
	}
}

// TypedRune obeys the keys that write something.
func (t *Trace) TypedRune(r rune) {
	switch r {
	case '+', '=':
		t.ZoomIn()
	case '-', '−', '_':
		t.ZoomOut()
	case '0':
		t.ShowAll()
	case 'n', 'N':
		t.NextPair()
	case 'p', 'P':
		t.PrevPair()
	default:
		t.hitRune(r)
	}
}

// hitRune obeys the keys about hits. Shift makes a nudge longer; what it writes
// depends on the keyboard.
func (t *Trace) hitRune(r rune) {
	switch r {
	case 'h':
		t.stepHit(1)
	case 'H':
		t.stepHit(-1)
	case 'r', 'R':
		t.chooseOf(session.ReferenceChannel)
	case 'v', 'V':
		t.chooseOf(session.VoiceChannel)
	case ',':
		t.nudge(-nudgeS)
	case '.':
		t.nudge(nudgeS)
	case '<', ';':
		t.nudge(-nudgesS)
	case '>', ':':
		t.nudge(nudgesS)
	}
}

// FocusGained shows that keys reach the trace.
func (t *Trace) FocusGained() {
	t.focused = true
	t.Refresh()
	t.reached(t)
}

// reached tells the owner what got the keyboard.
func (t *Trace) reached(o fyne.CanvasObject) {
	if t.OnFocus != nil {
		t.OnFocus(o)
	}
}

// FocusLost shows that they no longer do.
func (t *Trace) FocusLost() {
	t.focused = false
	t.Refresh()
}

// MouseIn follows the pointer.
func (t *Trace) MouseIn(e *desktop.MouseEvent) { t.MouseMoved(e) }

// MouseMoved shows what is known of the pair under the pointer.
func (t *Trace) MouseMoved(e *desktop.MouseEvent) {
	t.pointer, t.pointed = e.Position, true
	t.hover(t.near(float64(e.Position.X)))
}

// MouseOut forgets the pointer.
func (t *Trace) MouseOut() {
	t.pointed = false
	t.hover(none)
}

// hover repaints only when another pair is meant.
func (t *Trace) hover(i int) {
	if i != t.hovered {
		t.hovered = i
		t.Refresh()
	}
}

// Cursor is a cross: moments are pointed at; over a pin that a drag would move,
// it points both ways.
func (t *Trace) Cursor() desktop.Cursor {
	if t.dragging || t.pointed && t.grips(t.pointer) {
		return desktop.HResizeCursor
	}
	return desktop.CrosshairCursor
}
