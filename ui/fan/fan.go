// Package fan is the hit fan: every pair of a take laid over every other with the
// reference hits at zero, so that scatter and offset are seen at once. Each pair
// is a ray from the reference to where its voice sounded, the take's first pair
// on top; late lies to the right, early to the left.
//
// Lags are in milliseconds, positions in device-independent pixels.
package fan

import (
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/ui/look"
)

var (
	_ fyne.Widget     = (*Fan)(nil)
	_ fyne.Accessible = (*Fan)(nil)
)

// Fan is the hit fan widget. All its methods belong to the UI goroutine.
type Fan struct {
	widget.BaseWidget

	has       bool
	reading   calib.Reading
	tolerance float64
	limit     float64

	raster  *canvas.Raster
	picture painter
}

// New returns an empty fan.
func New() *Fan {
	f := &Fan{}
	f.raster = canvas.NewRaster(f.paint)
	f.ExtendBaseWidget(f)
	return f
}

// Set shows a reading. Lags within ± toleranceMS are tight; ± limitMS is where a
// lag begins to be heard by anybody. Both are in ms, and 0 draws none.
func (f *Fan) Set(reading calib.Reading, toleranceMS, limitMS float64) {
	f.has, f.reading = true, reading
	f.tolerance, f.limit = sane(toleranceMS), sane(limitMS)
	f.Refresh()
}

// Clear shows that there is no reading.
func (f *Fan) Clear() {
	f.has, f.reading = false, calib.Reading{}
	f.Refresh()
}

// sane returns v, or 0 for what no distance can be.
func sane(v float64) float64 {
	if v > 0 && !math.IsInf(v, 0) {
		return v
	}
	return 0
}

// count returns how many pairs are used and how many left out.
func (f *Fan) count() (used, out int) {
	for _, p := range f.reading.Pairs {
		if p.Used {
			used++
		}
	}
	return used, len(f.reading.Pairs) - used
}

// summary says the reading in words: the lag, how sure it is, and the pairs.
func (f *Fan) summary() string {
	used, out := f.count()
	half := (f.reading.LagCI95MS[1] - f.reading.LagCI95MS[0]) / 2
	lag := look.Lag(f.reading.LagMS)
	if out > 0 {
		return i18n.F("%s ± %.1f · %d pairs, %d left out", lag, half, used, out)
	}
	return i18n.F("%s ± %.1f · %d pairs", lag, half, used)
}

// verdict says in a word how the lag lies to the tolerance; empty without one.
func (f *Fan) verdict() string {
	switch {
	case f.tolerance == 0:
		return ""
	case math.Abs(f.reading.LagMS) <= f.tolerance:
		return i18n.L("tight")
	case f.reading.LagMS > 0:
		return i18n.L("late")
	}
	return i18n.L("early")
}

// sentence returns what an empty fan says.
func (f *Fan) sentence() string {
	if f.has {
		return i18n.L("No pairs in this take: look at the trace to see what is missing.")
	}
	return i18n.L("Each hit of the next take will fan out here: late to the right, early to the left.")
}

// AccessibilityLabel says what the fan shows.
func (f *Fan) AccessibilityLabel() string {
	if len(f.reading.Pairs) == 0 {
		return f.sentence()
	}
	return i18n.F("Hit fan: %s. %s", f.summary(), f.verdict())
}

// AccessibilityRole is text: the fan is only read.
func (f *Fan) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// CreateRenderer returns the renderer: one raster.
func (f *Fan) CreateRenderer() fyne.WidgetRenderer { return &fanRenderer{f} }

var _ fyne.WidgetRenderer = (*fanRenderer)(nil)

// fanRenderer lays out the fan's only object.
type fanRenderer struct{ f *Fan }

func (r *fanRenderer) Layout(size fyne.Size) { r.f.raster.Resize(size) }
func (r *fanRenderer) MinSize() fyne.Size {
	return fyne.NewSize(220, 150*look.Times(r.f.Theme()))
}

func (r *fanRenderer) Refresh()                     { r.f.raster.Refresh() }
func (r *fanRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.f.raster} }
func (r *fanRenderer) Destroy()                     {}

// paint is the raster's generator; w and h are device pixels.
func (f *Fan) paint(w, h int) image.Image {
	scale := 1.0
	if width := f.raster.Size().Width; width > 0 {
		scale = float64(w) / float64(width)
	}
	return f.picture.draw(f, w, h, scale)
}
