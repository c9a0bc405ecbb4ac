package trace

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/plotting/wave"
	"lagwright/ui/sight"
	"lagwright/ui/trace/picture"
)

// shown is what is shown: a take, and which stretch of it. It zooms, pans and follows.
type shown struct {
	sight.Hands
	OnView func() // called when another stretch of the take comes in sight

	on   *widget.BaseWidget
	take *Take
	view sight.View

	hovered int // the pair that the pointer came to lie on, until something else comes in sight
	pointer fyne.Position
	pointed bool // the pointer is over the trace
}

// View returns the stretch in sight, in seconds; both are 0 without a take.
func (t *shown) View() (fromS, toS float64) { return t.view.Lo, t.view.Hi }

// Sound returns both channels; nil without a take.
func (t *shown) Sound() (reference, voice *wave.Pyramid) {
	if t.take == nil {
		return nil, nil
	}
	return t.take.Reference, t.take.Voice
}

// ZoomTo shows the stretch between two moments, as far as the take allows.
func (t *shown) ZoomTo(fromS, toS float64) {
	t.setView(t.view.Show(fromS, toS))
}

// Length returns how long the take is, in seconds.
func (t *shown) Length() float64 { return t.view.All.Hi }

// ShowAll shows the whole take.
func (t *shown) ShowAll() { t.ZoomTo(0, t.view.All.Hi) }

// setView shows v if it is another view; the pointer then lies on something else.
func (t *shown) setView(v sight.View) {
	if v == t.view {
		return
	}
	t.view, t.hovered = v, picture.None
	t.changed()
}

// changed repaints after the view or the take changed.
func (t *shown) changed() {
	t.on.Refresh()
	if t.OnView != nil {
		t.OnView()
	}
}

// Zoom shows factor times as many seconds, the moment at a place staying there.
func (t *shown) Zoom(factor float64, at fyne.Position) {
	t.setView(t.view.Zoom(factor, t.view.At(float64(at.X), 0, t.width())))
}

// Pan moves the view by device-independent pixels, to the right if positive.
func (t *shown) Pan(dx, _ float32) {
	if width := t.width(); width > 0 {
		t.setView(t.view.Pan(float64(dx) / width * t.view.Width()))
	}
}

func (t *shown) width() float64 { return float64(t.on.Size().Width) }

// Advance shows what the recording has gained since. A view that reaches the
// newest sound moves on with it; one that was panned back stays where it is.
func (t *shown) Advance() error {
	if t.take == nil {
		return nil
	}
	for _, p := range []*wave.Pyramid{t.take.Reference, t.take.Voice} {
		if err := p.Grow(); err != nil {
			return err
		}
	}
	newest := t.view.Hi >= t.view.All.Hi
	t.view.All.Hi = max(t.view.All.Hi, seconds(t.take))
	if newest {
		t.view = t.view.Pan(t.view.All.Hi)
	}
	t.changed()
	return nil
}
