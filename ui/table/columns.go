// Package table lays out lines in columns: cells that are typed into and cells that are
// only read.
package table

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/ui/look"
)

// Columns lays out a line of a table: each column has its share of the width,
// and room for its title in every language.
type Columns struct {
	Titles []string
	Usual  []string // what has room in a column on one line, beside its title; may be shorter than Titles
	Shares []float32
	Held   int // the column that gives none of its share away; -1 = none
}

// Widths returns those of the columns. What long titles need beyond their share the
// others give in proportion to what they can spare.
func (c Columns) Widths(total float32) []float32 {
	widths, spare := make([]float32, len(c.Shares)), make([]float32, len(c.Shares))
	var lack, all float32
	for i, share := range c.Shares {
		widths[i] = share * total
		title := c.title(i)
		switch {
		case title > widths[i]:
			lack += title - widths[i]
			widths[i] = title
		case i != c.Held:
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

// title is the room that the title of a column takes, or what usually stands there.
func (c Columns) title(i int) float32 {
	wide := fyne.MeasureText(c.Titles[i], theme.TextSize(), fyne.TextStyle{Bold: true}).Width
	if i < len(c.Usual) {
		wide = max(wide, fyne.MeasureText(c.Usual[i], theme.TextSize(), fyne.TextStyle{}).Width)
	}
	return wide + 2*theme.InnerPadding() + theme.Padding() // at no more than its own width a label cuts its text
}

// Layout implements fyne.Layout.
func (c Columns) Layout(cells []fyne.CanvasObject, size fyne.Size) {
	x := float32(0)
	widths := c.Widths(size.Width)
	for i, cell := range cells { // not all of them while a line is filled
		cell.Move(fyne.NewPos(x, 0))
		cell.Resize(fyne.NewSize(widths[i], size.Height))
		x += widths[i]
	}
}

// MinSize implements fyne.Layout.
func (c Columns) MinSize(cells []fyne.CanvasObject) fyne.Size {
	titles, given := float32(0), float32(1) // the share that is given to titles
	for i := range c.Titles {
		if i == c.Held {
			given -= c.Shares[i]
		} else {
			titles += c.title(i)
		}
	}
	least := fyne.NewSize(max(450*look.Times(theme.Current()), titles/given), 0)
	for _, cell := range cells {
		least.Height = max(least.Height, cell.MinSize().Height)
	}
	return least
}

// Lines are columns in lines below each other.
type Lines []Columns

// Head has their titles.
func (l Lines) Head() fyne.CanvasObject {
	head := container.NewVBox()
	for _, c := range l {
		head.Add(c.Head())
	}
	return head
}

// Row lays cells out in them, from the first line on.
func (l Lines) Row(cells ...fyne.CanvasObject) *fyne.Container {
	row := container.NewVBox()
	for _, c := range l {
		row.Add(container.New(c, cells[:len(c.Titles)]...))
		cells = cells[len(c.Titles):]
	}
	return row
}

// Head is the line of titles.
func (c Columns) Head() fyne.CanvasObject {
	head := container.New(c)
	for _, title := range c.Titles {
		l := NewLabel(title, true)
		l.Wrapping, l.Truncation = fyne.TextWrapOff, fyne.TextTruncateEllipsis
		head.Add(l)
	}
	return head
}

// Label is a cell that is only read, in as many lines as its text takes at the width it
// has; a click on it may be heard.
type Label struct {
	widget.Label
	OnTapped func()
}

// NewLabel returns one that hears no click.
func NewLabel(text string, bold bool) *Label {
	l := &Label{}
	l.Text, l.TextStyle.Bold, l.Wrapping = text, bold, fyne.TextWrapWord
	l.ExtendBaseWidget(l)
	return l
}

// Tapped tells of a click.
func (l *Label) Tapped(*fyne.PointEvent) {
	if l.OnTapped != nil {
		l.OnTapped()
	}
}
