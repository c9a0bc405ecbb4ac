package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/ui/look"
)

// tableColumns lays out a line of a table: each column has its share of the width,
// and room for its title in every language.
type tableColumns struct {
	titles []string
	shares []float32
	held   int // the column that gives none of its share away; -1 = none
}

// widths returns those of the columns. What long titles need beyond their share the
// others give in proportion to what they can spare.
func (c tableColumns) widths(total float32) []float32 {
	widths, spare := make([]float32, len(c.shares)), make([]float32, len(c.shares))
	var lack, all float32
	for i, share := range c.shares {
		widths[i] = share * total
		title := c.title(i)
		switch {
		case title > widths[i]:
			lack += title - widths[i]
			widths[i] = title
		case i != c.held:
			spare[i] = widths[i] - title
			all += spare[i]
		}
	}
	if all > 0 {
		for i := range widths {
			widths[i] -= spare[i] * min(1, lack/all)
		}
	}
	return widths
}

// title is the room that the title of a column takes.
func (c tableColumns) title(i int) float32 {
	return fyne.MeasureText(c.titles[i], theme.TextSize(), fyne.TextStyle{Bold: true}).Width + 2*theme.InnerPadding() + theme.Padding() // at no more than its own width a label cuts its text
}

// Layout implements fyne.Layout.
func (c tableColumns) Layout(cells []fyne.CanvasObject, size fyne.Size) {
	x := float32(0)
	widths := c.widths(size.Width)
	for i, cell := range cells { // not all of them while a line is filled
		cell.Move(fyne.NewPos(x, 0))
		cell.Resize(fyne.NewSize(widths[i], size.Height))
		x += widths[i]
	}
}

// MinSize implements fyne.Layout.
func (c tableColumns) MinSize(cells []fyne.CanvasObject) fyne.Size {
	titles, given := float32(0), float32(1) // the share that is given to titles
	for i := range c.titles {
		if i == c.held {
			given -= c.shares[i]
		} else {
			titles += c.title(i)
		}
	}
	least := fyne.NewSize(max(700*look.Times(theme.Current()), titles/given), 0)
	for _, cell := range cells {
		least.Height = max(least.Height, cell.MinSize().Height)
	}
	return least
}

// head is the line of titles.
func (c tableColumns) head() fyne.CanvasObject {
	head := container.New(c)
	for _, title := range c.titles {
		head.Add(newCellLabel(title, true))
	}
	return head
}

// cellLabel is a cell that is only read; a click on it may be heard.
type cellLabel struct {
	widget.Label
	tapped func()
}

func newCellLabel(text string, bold bool) *cellLabel {
	l := &cellLabel{}
	l.Text, l.TextStyle.Bold, l.Truncation = text, bold, fyne.TextTruncateEllipsis
	l.ExtendBaseWidget(l)
	return l
}

// Tapped tells of a click.
func (l *cellLabel) Tapped(*fyne.PointEvent) {
	if l.tapped != nil {
		l.tapped()
	}
}
