// Package chart shows a figure of plotting, drawn for exactly the pixels it has.
package chart

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/sight"
)

// View shows a curve drawn for exactly the pixels it has; it zooms and pans as
// [sight.Hands] does, both axes at once. Drawing takes
// tens of milliseconds, so it happens on a worker; while one drawing is under
// way later wishes wait, and only the last of them is drawn.
type View struct {
	widget.BaseWidget
	sight.Hands
	curve        plotting.Curve
	set          bool // there is a curve
	tempos, lags sight.View
	Picture      *canvas.Image
	frame        *canvas.Rectangle // round it while it has the keyboard
	Spawn        func(func())      // runs a function elsewhere
	drawing      bool
	stale        bool // something changed while drawing

	OnTap  func(plotting.Near) // told what is near a click on the figure; nil = clicks mean nothing
	Shown  *plotting.Figure    // the one in sight
	edges  plotting.CurveAxes  // the tempos from its left edge to its right, and the lags from its foot to its top
	pixels float32             // device pixels to one of the view's
	Scale  float32             // how large the figure is drawn, which goes with the theme's text too
}

var (
	_ fyne.Accessible     = (*View)(nil)
	_ fyne.Focusable      = (*View)(nil)
	_ fyne.Tappable       = (*View)(nil)
	_ fyne.DoubleTappable = (*View)(nil)
	_ fyne.Draggable      = (*View)(nil)
	_ fyne.Scrollable     = (*View)(nil)
)

// Less than this is not shown of an axis.
const (
	leastTempos = 1   // BPM
	leastLags   = 0.5 // ms
)

// New returns a view that shows nothing yet; spawn runs drawing elsewhere.
func New(spawn func(func())) *View {
	v := &View{Picture: canvas.NewImageFromImage(image.NewNRGBA(image.Rect(0, 0, 1, 1))), frame: canvas.NewRectangle(nil), Spawn: spawn}
	v.Picture.FillMode = canvas.ImageFillStretch
	v.Picture.ScaleMode = canvas.ImageScaleFastest
	v.frame.StrokeWidth = 2
	v.Of = v
	v.ExtendBaseWidget(v)
	return v
}

// Set shows a curve anew, as far as it was in sight; another machine's or voice's, all of it.
func (v *View) Set(curve plotting.Curve) {
	if curve.Title != v.curve.Title || curve.Voice != v.curve.Voice {
		v.tempos, v.lags = sight.View{}, sight.View{}
	}
	v.curve, v.set = curve, true
	v.draw()
}

// AccessibilityLabel says what the figure is of.
func (v *View) AccessibilityLabel() string {
	return i18n.L("Lag against tempo, as the takes and the law have it. The lists beside it say the same in words.")
}

// AccessibilityRole is text: the figure is read; what a click picks is in the lists too.
func (v *View) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// draw starts drawing for the present size and theme.
func (v *View) draw() {
	size := v.Size()
	if !v.set || size.Width < 2 || size.Height < 2 {
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
	figure := v.figure()
	v.drawing, v.stale = true, false
	v.Spawn(func() {
		w, h := int(size.Width*pixels), int(size.Height*pixels)
		drawn := figure.Image(w, h, float64(scale))
		from, to := figure.Near(w, h, float64(scale), 0, float64(h)), figure.Near(w, h, float64(scale), float64(w), 0)
		fyne.Do(func() {
			v.drawing = false
			v.edges = plotting.CurveAxes{Tempos: sketch.Span{Lo: from.TempoBPM, Hi: to.TempoBPM}, Lags: sketch.Span{Lo: from.LagMS, Hi: to.LagMS}}
			v.Picture.Image, v.Shown, v.pixels, v.Scale = drawn, figure, pixels, scale
			v.Picture.Refresh()
			if v.stale {
				v.draw()
			}
		})
	})
}

// figure is what is to be drawn. How far the axes go is known once it is made.
func (v *View) figure() *plotting.Figure {
	for {
		v.curve.InSight = v.inSight()
		figure := v.curve.Figure(look.Inks(v.Theme()))
		v.tempos, v.lags = v.tempos.Of(figure.Axes().Tempos, leastTempos), v.lags.Of(figure.Axes().Lags, leastLags)
		if v.inSight() == v.curve.InSight {
			return figure
		}
	}
}

func (v *View) inSight() plotting.CurveAxes {
	if v.tempos.Span == v.tempos.All && v.lags.Span == v.lags.All {
		return plotting.CurveAxes{}
	}
	return plotting.CurveAxes{Tempos: v.tempos.Span, Lags: v.lags.Span}
}

// Tapped tells what is drawn where the figure was clicked.
func (v *View) Tapped(e *fyne.PointEvent) {
	v.Focus()
	if v.OnTap == nil || v.Shown == nil {
		return
	}
	size := v.Picture.Image.Bounds()
	v.OnTap(v.Shown.Near(size.Dx(), size.Dy(), float64(v.Scale), float64(e.Position.X*v.pixels), float64(e.Position.Y*v.pixels)))
}

// DoubleTapped shows all of the curve.
func (v *View) DoubleTapped(*fyne.PointEvent) {
	v.Focus()
	v.ShowAll()
}

// ShowAll shows all of the curve.
func (v *View) ShowAll() {
	v.look(v.tempos.Show(v.tempos.All.Lo, v.tempos.All.Hi), v.lags.Show(v.lags.All.Lo, v.lags.All.Hi))
}

// Zoom shows factor times as much of both axes about a place.
func (v *View) Zoom(factor float64, at fyne.Position) {
	v.look(v.tempos.Zoom(factor, v.edges.Tempos.At(float64(at.X), 0, float64(v.Size().Width))), v.lags.Zoom(factor, v.edges.Lags.At(float64(at.Y), float64(v.Size().Height), 0)))
}

// Pan goes so far to the right and down.
func (v *View) Pan(dx, dy float32) {
	size := v.Size()
	v.look(v.tempos.Pan(float64(dx/size.Width)*v.edges.Tempos.Width()), v.lags.Pan(-float64(dy/size.Height)*v.edges.Lags.Width()))
}

// Middle is that of the tempos in sight, where voices strike together if that is.
func (v *View) Middle() fyne.Position {
	tempo, lag := (v.tempos.Lo+v.tempos.Hi)/2, (v.lags.Lo+v.lags.Hi)/2
	if v.lags.Contains(0) {
		lag = 0
	}
	return fyne.NewPos(float32(v.edges.Tempos.X(tempo, 0, float64(v.Size().Width))), float32(v.edges.Lags.X(lag, float64(v.Size().Height), 0)))
}

// look brings something else into sight.
func (v *View) look(tempos, lags sight.View) {
	if tempos != v.tempos || lags != v.lags {
		v.tempos, v.lags = tempos, lags
		v.draw()
	}
}

// CreateRenderer shows the picture.
func (v *View) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewStack(v.Picture, v.frame))
}

// Resize draws the figure for the size that the view has now.
func (v *View) Resize(size fyne.Size) {
	v.BaseWidget.Resize(size)
	v.draw()
}

// MinSize is so small that a curve can just be read.
func (v *View) MinSize() fyne.Size { return fyne.NewSize(240, 120*look.Times(v.Theme())) }

// Refresh draws the figure anew, in the theme that there is now.
func (v *View) Refresh() {
	v.frame.StrokeColor = color.Transparent
	if v.Focused {
		v.frame.StrokeColor = v.Theme().Color(theme.ColorNameFocus, fyne.CurrentApp().Settings().ThemeVariant())
	}
	v.frame.Refresh()
	v.draw()
}
