package ink

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"lagwright/ui/look"
)

// Drawing is what a widget is made of that draws itself and is only read: the widget
// embeds it, begins it, and says in its AccessibilityLabel what it shows.
type Drawing struct {
	widget.BaseWidget
	Board *Board
}

// Begin makes the drawing that of a widget; least and draw are those of its board.
func (d *Drawing) Begin(of interface {
	fyne.Widget
	fyne.Accessible
	themed
}, least func(times float32) fyne.Size, draw func(p *Pen)) {
	d.Board = NewBoard(of, least, draw)
	d.ExtendBaseWidget(of)
}

// AccessibilityRole is that of text.
func (d *Drawing) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// CreateRenderer returns the renderer: the board.
func (d *Drawing) CreateRenderer() fyne.WidgetRenderer { return d.Board }

// Board is the picture of a widget that draws itself: its only object, and its
// renderer. It belongs to the UI goroutine.
type Board struct {
	of     themed
	least  func(times float32) fyne.Size
	draw   func(p *Pen)
	raster *canvas.Raster
	pen    *Pen
}

type themed interface{ Theme() fyne.Theme }

var _ fyne.WidgetRenderer = (*Board)(nil)

// NewBoard returns the board of a widget. least is the smallest size at so many
// times the usual text; draw draws all of it, and is never asked for a picture
// without pixels.
func NewBoard(of themed, least func(times float32) fyne.Size, draw func(p *Pen)) *Board {
	b := &Board{of: of, least: least, draw: draw}
	b.raster = canvas.NewRaster(b.Paint)
	return b
}

// Paint returns the picture at w by h device pixels.
func (b *Board) Paint(w, h int) image.Image {
	if b.pen == nil || b.pen.Img.Rect.Size() != image.Pt(w, h) {
		b.pen = On(image.NewRGBA(image.Rect(0, 0, w, h)), 1, nil)
	}
	b.pen.Scale, b.pen.Theme = 1, b.of.Theme()
	if width := b.raster.Size().Width; width > 0 {
		b.pen.Scale = float64(w) / float64(width)
	}
	if w > 0 && h > 0 {
		b.draw(b.pen)
	}
	return b.pen.Img
}

// Layout gives the picture all of the widget's room.
func (b *Board) Layout(size fyne.Size) { b.raster.Resize(size) }

// MinSize is the smallest size under the widget's theme.
func (b *Board) MinSize() fyne.Size { return b.least(look.Times(b.of.Theme())) }

// Refresh draws anew.
func (b *Board) Refresh() { b.raster.Refresh() }

// Objects are the picture alone.
func (b *Board) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{b.raster} }

// Destroy has nothing to do.
func (b *Board) Destroy() {}
