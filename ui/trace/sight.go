package trace

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/plotting/wave"
	"lagwright/ui/trace/picture"
)

// sight is what is shown: a take, and which stretch of it. It zooms, pans and follows.
type sight struct {
	OnView func() // called when another stretch of the take comes in sight

	on   *widget.BaseWidget
	take *Take
	view picture.View

	hovered int // the pair that the pointer came to lie on, until something else comes in sight
	pointer fyne.Position
	pointed bool // the pointer is over the trace
}

// View returns the stretch in sight, in seconds; both are 0 without a take.
func (t *sight) View() (fromS, toS float64) { return t.view.From, t.view.To }

// Sound returns both channels; nil without a take.
func (t *sight) Sound() (reference, voice *wave.Pyramid) {
	if t.take == nil {
		return nil, nil
	}
	return t.take.Reference, t.take.Voice
}

// ZoomTo shows the stretch between two moments, as far as the take allows.
func (t *sight) ZoomTo(fromS, toS float64) {
	t.setView(t.view.Show(fromS, toS))
}

// Length returns how long the take is, in seconds.
func (t *sight) Length() float64 { return t.view.Length }

// ShowAll shows the whole take.
func (t *sight) ShowAll() { t.ZoomTo(0, t.view.Length) }

// setView shows v if it is another view; the pointer then lies on something else.
func (t *sight) setView(v picture.View) {
	if v == t.view {
		return
	}
	t.view, t.hovered = v, picture.None
	t.changed()
}

// changed repaints after the view or the take changed.
func (t *sight) changed() {
	t.on.Refresh()
	if t.OnView != nil {
		t.OnView()
	}
}

// panBy moves the view by device-independent pixels, to the right if positive.
func (t *sight) panBy(dx float64) {
	if width := float64(t.on.Size().Width); width > 0 {
		t.setView(t.view.Pan(dx / width * t.view.Span()))
	}
}

// Advance shows what the recording has gained since. A view that reaches the
// newest sound moves on with it; one that was panned back stays where it is.
func (t *sight) Advance() error {
	if t.take == nil {
		return nil
	}
	for _, p := range []*wave.Pyramid{t.take.Reference, t.take.Voice} {
		if err := p.Grow(); err != nil {
			return err
		}
	}
	newest := t.view.To >= t.view.Length
	t.view.Length = max(t.view.Length, seconds(t.take))
	if newest {
		t.view = t.view.Show(t.view.Length-t.view.Span(), t.view.Length)
	}
	t.changed()
	return nil
}
