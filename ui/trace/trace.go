package trace

import (
	"context"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/plotting/sketch"
	"lagwright/plotting/wave"
	"lagwright/ui/look/ink"
	"lagwright/ui/sight"
	"lagwright/ui/trace/picture"
)

var (
	_ fyne.Widget         = (*Trace)(nil)
	_ fyne.Focusable      = (*Trace)(nil)
	_ fyne.Tappable       = (*Trace)(nil)
	_ fyne.DoubleTappable = (*Trace)(nil)
	_ fyne.Draggable      = (*Trace)(nil)
	_ fyne.Scrollable     = (*Trace)(nil)
	_ fyne.Accessible     = (*Trace)(nil)
	_ desktop.Hoverable   = (*Trace)(nil)
	_ desktop.Cursorable  = (*Trace)(nil)
	_ desktop.Mouseable   = (*Trace)(nil)
)

// Trace is the mirror trace widget. All its methods and fields belong to the UI
// goroutine.
//
// It zooms and pans as [sight.Hands] does; n and p (or Page Down and Up) go to the
// next and the previous pair, a double tap to the pair under the pointer.
//
// A tap near a pin selects that hit, and so do h and H (the next and the previous
// hit of a half) and r and v (those of the selected pair). Delete strikes the
// selected hit out or puts it back; comma and full stop move it by 0.1 ms, with
// Shift by 1 ms; dragging moves it in views shorter than 2 s. Insert adds a hit
// at the cursor, which a tap beside the pins sets. The trace itself changes no
// hit: it asks its owner through OnEdit.
//
// Its parts lie over each other, and each knows only those below: what is in sight,
// the selected pair, hits and hand edits, the pointer, the keyboard.
type Trace struct {
	widget.BaseWidget
	typing

	hint    string
	heardS  float64 // what is listened to; nowhere = nothing
	board   *ink.Board
	picture picture.Picture
}

// New returns a trace without a take.
func New() *Trace {
	t := &Trace{heardS: picture.Nowhere}
	t.on, t.Of = &t.BaseWidget, t
	t.selected, t.hovered, t.half, t.cursorS = picture.None, picture.None, machine.VoiceChannel, picture.Nowhere
	t.board = ink.NewBoard(t, func(times float32) fyne.Size { return fyne.NewSize(240, 140*times) }, t.draw)
	t.ExtendBaseWidget(t)
	return t
}

// leastFrames is how many frames are in sight at least.
const leastFrames = 12

// SetTake shows a take from its first to its last second, or the hint if tk is
// nil.
func (t *Trace) SetTake(tk *Take) {
	t.take, t.selected, t.hovered, t.view = tk, picture.None, picture.None, sight.View{}
	t.chosen, t.cursorS, t.heardS, t.gripped, t.dragging = picture.Pin{}, picture.Nowhere, picture.Nowhere, false, false
	if tk != nil {
		t.view = sight.Whole(sketch.Span{Hi: seconds(tk)}, leastFrames/tk.Reference.Rate())
	}
	t.changed()
	t.tellHit()
}

// Heard shows the moment that is listened to, as a ball that rolls along the lane;
// a negative one shows none.
func (t *Trace) Heard(atS float64) {
	if atS < 0 {
		atS = picture.Nowhere
	}
	if atS != t.heardS {
		t.heardS = atS
		t.Refresh()
	}
}

// SetHint sets the sentence shown while there is no take; say in it what to do
// next, or how far the reading of the take has got. Empty restores the usual one.
func (t *Trace) SetHint(sentence string) {
	t.hint = sentence
	t.Refresh()
}

// followS is how many seconds are in sight while a recording is followed.
const followS = 12

// Follow shows a take that is still being recorded; call Advance as it grows. Its
// pyramids may be empty yet.
func (t *Trace) Follow(tk *Take) {
	t.SetTake(tk)
	t.view = sight.Whole(sketch.Span{Hi: followS}, leastFrames/tk.Reference.Rate())
	t.changed()
}

// draw brings the board up to date.
func (t *Trace) draw(pen *ink.Pen) {
	said := t.sentence()
	switch {
	case t.take != nil && t.hovered != picture.None && t.hovered < len(t.take.Pairs()):
		said = t.pairText(t.hovered)
	case t.take != nil:
		said = t.selectedText()
	}
	t.picture.Draw(pen, picture.State{
		View: t.view, Take: t.take, Selected: t.selected, Hovered: t.hovered,
		Chosen: t.chosen, Half: t.half, CursorS: t.cursorS, HeardS: t.heardS, Dragging: t.dragging, DragS: t.dragS,
		Focused: t.Focused, Said: said,
	})
}

// AccessibilityLabel says in words what is in sight.
func (t *Trace) AccessibilityLabel() string {
	if t.take == nil {
		return t.sentence()
	}
	s := i18n.F("Mirror trace from %.3f to %.3f s, %d pairs.", t.view.Lo, t.view.Hi, len(t.take.Pairs()))
	if words := t.selectedText(); words != "" {
		s += " " + words
	}
	return s
}

// AccessibilityRole is text: the trace is read, its commands are in the menu.
func (t *Trace) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// sentence returns what an empty trace says.
func (t *Trace) sentence() string {
	if t.hint != "" {
		return t.hint
	}
	return i18n.L("No take yet. Record one or open a recording to see both channels here.")
}

// CreateRenderer returns the renderer: the board.
func (t *Trace) CreateRenderer() fyne.WidgetRenderer { return t.board }

// Take is what the trace draws. The trace owns it once it is set.
type Take = picture.Take

// Load builds both pyramids of a take whose hits are as they were found, reference and voice being channels of src
// that count from 1. It may run on any goroutine and is cancelled through ctx;
// progress, if not nil, gets the share done on the same goroutine.
func Load(ctx context.Context, src calib.Source, reference, voice int, reading calib.Reading, progress func(float64)) (*Take, error) {
	half := func(start float64) func(float64) {
		if progress == nil {
			return nil
		}
		return func(share float64) { progress(start + share/2) }
	}
	r, err := wave.Build(ctx, src, reference, half(0))
	if err != nil {
		return nil, err
	}
	v, err := wave.Build(ctx, src, voice, half(0.5))
	if err != nil {
		return nil, err
	}
	found := machine.Heard{Reading: reading}
	return &Take{
		Reference: r, Voice: v, Reading: reading,
		ReferenceHits: found.Hits(machine.ReferenceChannel), VoiceHits: found.Hits(machine.VoiceChannel),
	}, nil
}

// seconds returns how long the longer channel is.
func seconds(tk *Take) float64 {
	return max(float64(tk.Reference.Frames())/tk.Reference.Rate(), float64(tk.Voice.Frames())/tk.Voice.Rate())
}
