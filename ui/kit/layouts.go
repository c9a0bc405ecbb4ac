package kit

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"

	"lagwright/ui/look"
)

// flow lays things out in a row, or in as many rows as the width asks for.
type flow struct {
	width float32 // of the last layout: the height asked for depends on it
}

// NewFlow lays things out so.
func NewFlow(o ...fyne.CanvasObject) *fyne.Container { return container.New(&flow{}, o...) }

// rows returns the visible things row by row.
func (f *flow) rows(o []fyne.CanvasObject, width float32) (rows [][]fyne.CanvasObject) {
	at := float32(0)
	for _, c := range o {
		if !c.Visible() {
			continue
		}
		wide := c.MinSize().Width
		if len(rows) == 0 || at+wide > width {
			rows, at = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], c)
		at += wide + theme.Padding()
	}
	return rows
}

func (f *flow) Layout(o []fyne.CanvasObject, size fyne.Size) {
	f.width = size.Width
	rows, y := f.rows(o, size.Width), float32(0)
	for _, row := range rows {
		x, high := float32(0), rowHeight(row)
		for _, c := range row {
			wide := min(c.MinSize().Width, size.Width)
			c.Resize(fyne.NewSize(wide, high))
			c.Move(fyne.NewPos(x, y))
			x += wide + theme.Padding()
		}
		y += high + theme.Padding()
	}
}

func rowHeight(row []fyne.CanvasObject) (high float32) {
	for _, c := range row {
		high = max(high, c.MinSize().Height)
	}
	return high
}

// MinSize is as wide as the widest thing, and as high as all rows at the width the
// flow has.
func (f *flow) MinSize(o []fyne.CanvasObject) fyne.Size {
	var least fyne.Size
	width := f.width
	if width == 0 {
		width = 1 << 20 // before it was laid out: one row
	}
	for i, row := range f.rows(o, width) {
		if i > 0 {
			least.Height += theme.Padding()
		}
		least.Height += rowHeight(row)
		for _, c := range row {
			least.Width = max(least.Width, c.MinSize().Width)
		}
	}
	return least
}

// Wide gives something a width of its own, which grows with the theme's text.
func Wide(width float32, o fyne.CanvasObject) *fyne.Container {
	return Sized(func() fyne.Size { return fyne.NewSize(width*look.Times(theme.Current()), o.MinSize().Height) }, o)
}

// Sized gives something a least size of its own, whatever it holds.
func Sized(least func() fyne.Size, o fyne.CanvasObject) *fyne.Container {
	return container.New(sized(least), o)
}

type sized func() fyne.Size

func (sized) Layout(o []fyne.CanvasObject, size fyne.Size) {
	o[0].Move(fyne.NewPos(0, 0))
	o[0].Resize(size)
}

func (s sized) MinSize([]fyne.CanvasObject) fyne.Size { return s() }

// Gap is empty room of a height.
func Gap(height float32) fyne.CanvasObject {
	r := canvas.NewRectangle(color.Transparent)
	r.SetMinSize(fyne.NewSize(1, height))
	return r
}

// Border lays out as the toolkit's own does, with the parts in reading order, which
// the tab key follows: the toolkit puts what is in the middle first.
func Border(top, bottom, left, right, middle fyne.CanvasObject) *fyne.Container {
	c := container.New(layout.NewBorderLayout(top, bottom, left, right))
	for _, o := range []fyne.CanvasObject{top, left, middle, right, bottom} {
		if o != nil {
			c.Objects = append(c.Objects, o)
		}
	}
	return c
}

// Show shows something or hides it.
func Show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

// Enable lets a button be pressed, or not.
func Enable(b *Button, on bool) {
	if on {
		b.Enable()
	} else {
		b.Disable()
	}
}

// largeFrom is how many times the usual size text has where panes stand below each
// other instead of side by side.
const largeFrom = 1.5

// LargeText reports whether they do.
func LargeText() bool { return look.Times(theme.Current()) >= largeFrom }

// Aside lays something out with buttons at its right, or below it where text is large or
// the window narrow.
func Aside(o fyne.CanvasObject, buttons ...fyne.CanvasObject) *fyne.Container {
	row := container.NewHBox(buttons...)
	return container.New(&aside{row: row}, o, row)
}

type aside struct {
	row   *fyne.Container
	below flow
	width float32 // of the last layout
}

// now is how the two are laid out.
func (a *aside) now(o []fyne.CanvasObject) fyne.Layout {
	a.row.Layout = layout.NewHBoxLayout()
	beside := layout.NewBorderLayout(nil, nil, nil, a.row)
	if LargeText() || a.width > 0 && a.width < beside.MinSize(o).Width {
		a.row.Layout = &a.below
		return layout.NewVBoxLayout()
	}
	return beside
}

func (a *aside) Layout(o []fyne.CanvasObject, size fyne.Size) {
	a.width = size.Width
	a.now(o).Layout(o, size)
}

// MinSize is as wide as below each other, and as high as now.
func (a *aside) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(max(o[0].MinSize().Width, a.below.MinSize(a.row.Objects).Width), a.now(o).MinSize(o).Height)
}
