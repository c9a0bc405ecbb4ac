// Package sight is how a person zooms and pans: the stretch of an axis in sight, and the
// movements of the mouse and keys that change it, the same wherever there is an axis.
package sight

import (
	"math"

	"fyne.io/fyne/v2"

	"lagwright/ui/kit"
)

// Moved is a widget whose contents zoom and pan.
type Moved interface {
	fyne.CanvasObject
	Zoom(factor float64, at fyne.Position) // shows factor times as much, and what lies there stays there
	Pan(dx, dy float32)                    // goes so far to the right and down, in device-independent pixels, as far as there is something
	Middle() fyne.Position                 // what keys zoom about
	ShowAll()
}

// Hands zoom and pan: wheel and + and − zoom, and so do the arrows up and down; dragging,
// sideways scrolling and the other arrows pan; Home and End go to the ends, 0 shows all. A
// widget embeds them, and begins with Of.
type Hands struct {
	Of      Moved
	Focused bool
}

// wheelHalf is how much scrolling, in the toolkit's device-independent pixels,
// shows half as much.
const wheelHalf = 60

// Scrolled zooms about the pointer for vertical scrolling, with or without
// Control, and pans for horizontal.
func (h *Hands) Scrolled(e *fyne.ScrollEvent) {
	if dx, dy := float64(e.Scrolled.DX), float64(e.Scrolled.DY); math.Abs(dx) > math.Abs(dy) {
		h.Of.Pan(-e.Scrolled.DX, 0)
	} else {
		h.Of.Zoom(math.Exp2(-dy/wheelHalf), e.Position)
	}
}

// Dragged pans with the pointer.
func (h *Hands) Dragged(e *fyne.DragEvent) { h.Of.Pan(-e.Dragged.DX, -e.Dragged.DY) }

// DragEnd has nothing to do.
func (h *Hands) DragEnd() {}

// ZoomIn shows half as much.
func (h *Hands) ZoomIn() { h.Of.Zoom(0.5, h.Of.Middle()) }

// ZoomOut shows twice as much.
func (h *Hands) ZoomOut() { h.Of.Zoom(2, h.Of.Middle()) }

// arrowShare is the part of what is in sight that an arrow key moves by.
const arrowShare = 0.2

// TypedKey obeys the keys that are no letters, and leaves to the window what is its own.
func (h *Hands) TypedKey(e *fyne.KeyEvent) {
	all, arrow := float32(math.Inf(1)), h.Of.Size().Width*arrowShare
	switch e.Name {
	case fyne.KeyLeft:
		h.Of.Pan(-arrow, 0)
	case fyne.KeyRight:
		h.Of.Pan(arrow, 0)
	case fyne.KeyHome:
		h.Of.Pan(-all, 0)
	case fyne.KeyEnd:
		h.Of.Pan(all, 0)
	case fyne.KeyPageUp:
		h.Of.Pan(0, -h.Of.Size().Height*arrowShare)
	case fyne.KeyPageDown:
		h.Of.Pan(0, h.Of.Size().Height*arrowShare)
	case fyne.KeyUp:
		h.ZoomIn()
	case fyne.KeyDown:
		h.ZoomOut()
	case fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter: // the foot switch counts, whatever was looked at
		if c := fyne.CurrentApp().Driver().CanvasForObject(h.Of); c != nil && c.OnTypedKey() != nil {
			c.OnTypedKey()(e)
		}
	default:
		kit.Taken(h.Of, e)
	}
}

// TypedRune obeys the keys that write something.
func (h *Hands) TypedRune(r rune) {
	switch r {
	case '+', '=':
		h.ZoomIn()
	case '-', '−', '_':
		h.ZoomOut()
	case '0':
		h.Of.ShowAll()
	}
}

// Focus makes the keys reach the widget.
func (h *Hands) Focus() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(h.Of); c != nil {
		if f, ok := h.Of.(fyne.Focusable); ok {
			c.Focus(f)
		}
	}
}

// FocusGained shows that they do.
func (h *Hands) FocusGained() { h.show(true) }

// FocusLost shows that they no longer do.
func (h *Hands) FocusLost() { h.show(false) }

func (h *Hands) show(focused bool) {
	h.Focused = focused
	h.Of.Refresh()
	if focused {
		kit.Reveal(h.Of)
	}
}
