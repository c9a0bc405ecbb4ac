package ui

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/ui/look"
)

// figureView shows a figure drawn for exactly the pixels it has. Drawing takes
// tens of milliseconds, so it happens on a worker; while one drawing is under
// way later wishes wait, and only the last of them is drawn.
type figureView struct {
	widget.BaseWidget
	figure  func(plotting.Theme) (*plotting.Figure, error) // called on Fyne's goroutine; nil = nothing to draw
	picture *canvas.Image
	spawn   func(func()) // runs a function elsewhere
	drawing bool
	stale   bool // something changed while drawing

	onSong func(song int)   // told when a song on the figure is clicked; nil = clicks mean nothing
	shown  *plotting.Figure // the one in sight
	pixels float32          // device pixels to one of the view's
	scale  float32          // how large the figure is drawn, which goes with the theme's text too
}

func newFigureView(spawn func(func())) *figureView {
	v := &figureView{picture: canvas.NewImageFromImage(image.NewNRGBA(image.Rect(0, 0, 1, 1))), spawn: spawn}
	v.picture.FillMode = canvas.ImageFillStretch
	v.picture.ScaleMode = canvas.ImageScaleFastest
	v.ExtendBaseWidget(v)
	return v
}

// set shows another figure.
func (v *figureView) set(figure func(plotting.Theme) (*plotting.Figure, error)) {
	v.figure = figure
	v.draw()
}

// AccessibilityLabel says what the figure is of.
func (v *figureView) AccessibilityLabel() string {
	return i18n.L("Lag against tempo, as the takes and the law have it. The lists beside it say the same in words.")
}

// AccessibilityRole is text: the figure is read; what a click picks is in the lists too.
func (v *figureView) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

var _ fyne.Accessible = (*figureView)(nil)

// draw starts drawing for the present size and theme.
func (v *figureView) draw() {
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
	figure, err := v.figure(look.Inks(v.Theme()))
	if err != nil {
		return // a curve of readings that were checked when they were made
	}
	v.drawing, v.stale = true, false
	v.spawn(func() {
		drawn := figure.Image(int(size.Width*pixels), int(size.Height*pixels), float64(scale))
		fyne.Do(func() {
			v.drawing = false
			v.picture.Image, v.shown, v.pixels, v.scale = drawn, figure, pixels, scale
			v.picture.Refresh()
			if v.stale {
				v.draw()
			}
		})
	})
}

// Tapped picks the song that is drawn where the figure was clicked.
func (v *figureView) Tapped(e *fyne.PointEvent) {
	if v.onSong == nil || v.shown == nil {
		return
	}
	size := v.picture.Image.Bounds()
	if song, ok := v.shown.SongAt(size.Dx(), size.Dy(), float64(v.scale), float64(e.Position.X*v.pixels), float64(e.Position.Y*v.pixels)); ok {
		v.onSong(song)
	}
}

// CreateRenderer makes the view's renderer.
func (v *figureView) CreateRenderer() fyne.WidgetRenderer { return &figureRenderer{v} }

type figureRenderer struct{ v *figureView }

func (r *figureRenderer) Layout(size fyne.Size) {
	r.v.picture.Resize(size)
	r.v.draw()
}

func (r *figureRenderer) MinSize() fyne.Size {
	return fyne.NewSize(240, 150*look.Times(r.v.Theme()))
}

func (r *figureRenderer) Refresh()                     { r.v.draw() }
func (r *figureRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.v.picture} }
func (r *figureRenderer) Destroy()                     {}
