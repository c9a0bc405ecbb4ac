// Package chart shows a figure of plotting, drawn for exactly the pixels it has.
package chart

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/ui/look"
)

// View shows a figure drawn for exactly the pixels it has. Drawing takes
// tens of milliseconds, so it happens on a worker; while one drawing is under
// way later wishes wait, and only the last of them is drawn.
type View struct {
	widget.BaseWidget
	figure  func(plotting.Theme) *plotting.Figure // called on Fyne's goroutine; nil = nothing to draw
	Picture *canvas.Image
	Spawn   func(func()) // runs a function elsewhere
	drawing bool
	stale   bool // something changed while drawing

	OnTap  func(plotting.Near) // told what is near a click on the figure; nil = clicks mean nothing
	Shown  *plotting.Figure    // the one in sight
	pixels float32             // device pixels to one of the view's
	Scale  float32             // how large the figure is drawn, which goes with the theme's text too
}

// New returns a view that shows nothing yet; spawn runs drawing elsewhere.
func New(spawn func(func())) *View {
	v := &View{Picture: canvas.NewImageFromImage(image.NewNRGBA(image.Rect(0, 0, 1, 1))), Spawn: spawn}
	v.Picture.FillMode = canvas.ImageFillStretch
	v.Picture.ScaleMode = canvas.ImageScaleFastest
	v.ExtendBaseWidget(v)
	return v
}

// Set shows another figure.
func (v *View) Set(figure func(plotting.Theme) *plotting.Figure) {
	v.figure = figure
	v.draw()
}

// AccessibilityLabel says what the figure is of.
func (v *View) AccessibilityLabel() string {
	return i18n.L("Lag against tempo, as the takes and the law have it. The lists beside it say the same in words.")
}

// AccessibilityRole is text: the figure is read; what a click picks is in the lists too.
func (v *View) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

var _ fyne.Accessible = (*View)(nil)

// draw starts drawing for the present size and theme.
func (v *View) draw() {
	size := v.Size()
	if v.figure == nil || size.Width < 2 || size.Height < 2 {
		return
	}
	if v.drawing {
		v.stale = true
		return
	}
	pixels := float32(1)
	if c := fyne.CurrentApp().Driver().CanvasForObject(v); c != nil {
		pixels = c.Scale()
	}
	scale := pixels * look.Times(v.Theme())
	figure := v.figure(look.Inks(v.Theme()))
	v.drawing, v.stale = true, false
	v.Spawn(func() {
		drawn := figure.Image(int(size.Width*pixels), int(size.Height*pixels), float64(scale))
		fyne.Do(func() {
			v.drawing = false
			v.Picture.Image, v.Shown, v.pixels, v.Scale = drawn, figure, pixels, scale
			v.Picture.Refresh()
			if v.stale {
				v.draw()
			}
		})
	})
}

// Tapped tells what is drawn where the figure was clicked.
func (v *View) Tapped(e *fyne.PointEvent) {
	if v.OnTap == nil || v.Shown == nil {
		return
	}
	size := v.Picture.Image.Bounds()
	v.OnTap(v.Shown.Near(size.Dx(), size.Dy(), float64(v.Scale), float64(e.Position.X*v.pixels), float64(e.Position.Y*v.pixels)))
}

// CreateRenderer shows the picture.
func (v *View) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(v.Picture) }

// Resize draws the figure for the size that the view has now.
func (v *View) Resize(size fyne.Size) {
	v.BaseWidget.Resize(size)
	v.draw()
}

// MinSize is so small that a curve can just be read.
func (v *View) MinSize() fyne.Size { return fyne.NewSize(240, 120*look.Times(v.Theme())) }

// Refresh draws the figure anew, in the theme that there is now.
func (v *View) Refresh() { v.draw() }
