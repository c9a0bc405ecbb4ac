package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"

	"lagwright/ui/look"
)

// largeFrom is how many times the usual size text has where panes stand below each
// other instead of side by side.
const largeFrom = 1.5

// largeText reports whether they do.
func largeText() bool { return look.Times(theme.Current()) >= largeFrom }

// splits are the dividers of the window by the preference that keeps where each
// stands, with where it stands at first: the share of what is left or above.
func (w *Window) splits() []divider {
	return []divider{
		{"split.lower", w.lower, 0.52},
		{"split.take", w.take.split, 0.72},
		{"split.record", w.record.split, 0.62},
	}
}

type divider struct {
	pref  string
	split *container.Split
	first float64
}

// recallSplits puts the dividers where they stood when the window was last closed.
func (w *Window) recallSplits() {
	for _, d := range w.splits() {
		share := w.app.Preferences().FloatWithFallback(d.pref, d.first)
		if !(share > 0.02 && share < 0.98) {
			share = d.first // a pane out of sight is taken for lost
		}
		d.split.SetOffset(share)
	}
}

func (w *Window) rememberSplits() {
	for _, d := range w.splits() {
		w.app.Preferences().SetFloat(d.pref, d.split.Offset)
	}
}

// arrange lays the panes out for the size text has.
func (w *Window) arrange() {
	large := largeText()
	w.take.arrange(large)
	w.songs.arrange(large)
	w.record.split.Horizontal = !large
	if !w.record.root.Size().IsZero() {
		w.record.split.Refresh()
	}
}

// room is the size of a dialog that would be so wide and high at the usual text,
// as far as the window has room.
func (w *Window) room(width, height float32) fyne.Size {
	times, has := look.Times(theme.Current()), w.win.Canvas().Size()
	return fyne.NewSize(min(width*times, has.Width-40), min(height*times, has.Height-40))
}

// border lays out as the toolkit's own does, with the parts in reading order, which
// the tab key follows: the toolkit puts what is in the middle first.
func border(top, bottom, left, right, middle fyne.CanvasObject) *fyne.Container {
	c := container.New(layout.NewBorderLayout(top, bottom, left, right))
	for _, o := range []fyne.CanvasObject{top, left, middle, right, bottom} {
		if o != nil {
			c.Objects = append(c.Objects, o)
		}
	}
	return c
}
