package kit

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// At another width no row lies over the next.
func TestRowsAtAnotherWidth(t *testing.T) {
	test.NewTempApp(t)
	r := NewRows("rows", func() int { return 3 }, func(int) string { return "a row of words that takes a second line where it is narrow" })
	w := test.NewTempWindow(t, r)
	for _, wide := range []float32{600, 220, 600} {
		w.Resize(fyne.NewSize(wide, 400))
		end := float32(-1)
		seen := 0
		each(r, fyne.Position{}, func(l *widget.Label, at fyne.Position) {
			seen++
			if at.Y < end {
				t.Errorf("%g wide: a row begins at %g, before the last one ends at %g", wide, at.Y, end)
			}
			end = at.Y + l.MinSize().Height - 2*rowTrim
		})
		if seen != 3 {
			t.Errorf("%g wide: %d rows are in sight, want 3", wide, seen)
		}
	}
}

// As many rows are in sight as have room whole, and one where none has.
func TestRowsInSightAreWhole(t *testing.T) {
	test.NewTempApp(t)
	r := NewRows("rows", func() int { return 9 }, func(int) string { return "a row" })
	row := r.CreateItem().MinSize().Height + theme.Padding() // a line between two rows has that
	for high, want := range map[float32]float32{3*row - theme.Padding(): 3, 4*row - theme.Padding() - 0.5: 3, 3*row - theme.Padding() - 0.5: 2, 5: 1} {
		r.Resize(fyne.NewSize(300, high))
		if got := (r.Size().Height + theme.Padding()) / row; got != want {
			t.Errorf("%g of %g a row: %g rows in sight, want %g", high, row, got, want)
		}
	}
}

// each hands over the labels below an object from the top down.
func each(o fyne.CanvasObject, at fyne.Position, do func(*widget.Label, fyne.Position)) {
	if !o.Visible() {
		return
	}
	at = at.Add(o.Position())
	if l, ok := o.(*widget.Label); ok {
		do(l, at)
		return
	}
	var inner []fyne.CanvasObject
	switch o := o.(type) {
	case *fyne.Container:
		inner = o.Objects
	case fyne.Widget:
		inner = test.WidgetRenderer(o).Objects()
	}
	for _, one := range inner {
		each(one, at, do)
	}
}
