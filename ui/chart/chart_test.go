package chart

import (
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/plotting"
)

// shown is a curve of a take far from the others, in a window; it is drawn at once.
func shown(t *testing.T) (*View, fyne.Window) {
	t.Helper()
	test.NewTempApp(t)
	v := New(func(draw func()) { draw() })
	win := test.NewTempWindow(t, v)
	win.SetPadded(false)
	win.Resize(fyne.NewSize(800, 500))
	v.Set(curve(80, 100))
	return v, win
}

// curve has takes of 2 ms at two tempos, and one of 200 ms at the first.
func curve(slow, fast float64) plotting.Curve {
	c := plotting.Curve{Title: "Weir Lane"}
	for i, at := range [][2]float64{{slow, 200}, {slow, 2}, {fast, 2}} {
		c.Takes = append(c.Takes, plotting.CurveTake{TempoBPM: at[0], LagMS: at[1], CI95MS: [2]float64{at[1] - 1, at[1] + 1}, Take: i + 1, Current: i == 0})
	}
	return c
}

// value is what a place in the picture stands for.
func (v *View) value(at fyne.Position) (tempo, lag float64) {
	near := v.Shown.Near(800, 500, float64(v.Scale), float64(at.X), float64(at.Y))
	return near.TempoBPM, near.LagMS
}

// isAt fails unless a place stands for a tempo and a lag, but for what the axis moves where
// its numbers are longer.
func (v *View) isAt(t *testing.T, at fyne.Position, tempo, lag float64) {
	t.Helper()
	tempoNow, lagNow := v.value(at)
	if math.Abs(tempoNow-tempo) > 0.01*v.tempos.Width() || math.Abs(lagNow-lag) > 0.01*v.lags.Width() {
		t.Errorf("%v is at %g BPM and %g ms, before it was %g and %g", at, tempoNow, lagNow, tempo, lag)
	}
}

// wheel turns the wheel at a place; the toolkit's test driver forgets where that was.
func wheel(v *View, at fyne.Position, dy float32) {
	v.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: at}, Scrolled: fyne.NewDelta(0, dy)})
}

// The wheel zooms both axes about the pointer, and what it points at stays there.
func TestWheelZoomsAboutThePointer(t *testing.T) {
	v, _ := shown(t)
	at := fyne.NewPos(300, 380)
	tempo, lag := v.value(at)
	before := v.inAll()
	wheel(v, at, 60)
	v.isAt(t, at, tempo, lag)
	if now := v.inAll(); math.Abs(now.Tempos.Width()-before.Tempos.Width()/2) > 1e-6 || math.Abs(now.Lags.Width()-before.Lags.Width()/2) > 1e-6 {
		t.Errorf("in sight are %v, of %v", now, before)
	}
	wheel(v, at, -600)
	if now := v.inAll(); now != before {
		t.Errorf("zoomed out again: %v, want %v", now, before)
	}
}

// inAll is what is in sight.
func (v *View) inAll() plotting.CurveAxes {
	return plotting.CurveAxes{Tempos: v.tempos.Span, Lags: v.lags.Span}
}

// What is dragged stays under the pointer; a double click shows all.
func TestDragPans(t *testing.T) {
	v, win := shown(t)
	whole := v.inAll()
	wheel(v, fyne.NewPos(400, 250), 120)
	tempo, lag := v.value(fyne.NewPos(400, 250))
	test.Drag(win.Canvas(), fyne.NewPos(400, 250), 50, -40)
	v.isAt(t, fyne.NewPos(450, 210), tempo, lag)
	test.DoubleTap(v)
	if now := v.inAll(); now != whole {
		t.Errorf("a double click shows %v, want %v", now, whole)
	}
}

// Keys do the same, once the curve has the keyboard: zooming goes to where voices strike
// together, which one far take had squeezed.
func TestKeys(t *testing.T) {
	v, win := shown(t)
	whole := v.inAll()
	win.Canvas().Focus(v)
	key := func(name fyne.KeyName) { v.TypedKey(&fyne.KeyEvent{Name: name}) }
	for range 5 {
		test.Type(v, "+")
	}
	if now := v.inAll(); !now.Lags.Contains(0) || now.Lags.Contains(20) || now.Lags.Width() > whole.Lags.Width()/30 {
		t.Errorf("in sight are lags %v", now.Lags)
	}
	key(fyne.KeyHome)
	if now := v.inAll(); now.Tempos.Lo != whole.Tempos.Lo {
		t.Errorf("Home shows %v, want the slowest tempos of %v", now.Tempos, whole.Tempos)
	}
	before := v.inAll()
	key(fyne.KeyRight)
	key(fyne.KeyPageUp)
	if now := v.inAll(); now.Tempos.Lo <= before.Tempos.Lo || now.Lags.Lo <= before.Lags.Lo {
		t.Errorf("to the right and up: from %v to %v", before, now)
	}
	test.Type(v, "0")
	if now := v.inAll(); now != whole {
		t.Errorf("0 shows %v, want %v", now, whole)
	}
}

// Another take leaves what is in sight, all of it or a stretch; another machine's curve is
// shown whole.
func TestZoomStays(t *testing.T) {
	v, _ := shown(t)
	v.Set(curve(80, 180))
	if now := v.inAll(); !now.Tempos.Contains(180) || now.Tempos != v.Shown.Axes().Tempos {
		t.Errorf("all of it is %v, shown is %v", v.Shown.Axes(), now)
	}
	v.Zoom(0.1, fyne.NewPos(400, 250))
	before := v.inAll()
	v.Set(curve(70, 180))
	if now := v.inAll(); now != before {
		t.Errorf("a take came, and %v is in sight instead of %v", now, before)
	}
	other := curve(80, 100)
	other.Title = "Weir Lane No. 2"
	v.Set(other)
	if now := v.inAll(); now != v.Shown.Axes() {
		t.Errorf("of another machine %v is in sight", now)
	}
}

// A click means what is drawn where it was zoomed to.
func TestClickAfterZoom(t *testing.T) {
	v, _ := shown(t)
	taken := 0
	v.OnTap = func(n plotting.Near) { taken = n.Take }
	v.look(v.tempos.Show(95, 105), v.lags.Show(0, 4))
	x, y := v.edges.Tempos.X(100, 0, 800), v.edges.Lags.X(2, 500, 0)
	test.TapAt(v, fyne.NewPos(float32(x), float32(y)))
	if taken != 3 {
		t.Errorf("a click on take 3 at %g, %g means take %d", x, y, taken)
	}
}
