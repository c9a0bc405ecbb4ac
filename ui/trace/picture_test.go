package trace

import (
	"context"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"

	"lagwright/internal/must"
	"lagwright/ui/look"
)

// window shows a trace of a 30 s take at the given size.
func window(t testing.TB, w, h float32, lagMS float64) (*Trace, fyne.Window) {
	t.Helper()
	src, reading := play(30, lagMS)
	tk := must.Get(Load(context.Background(), src, 1, 2, reading, nil))(t)
	tr := New()
	tr.SetTake(tk)
	win := test.NewWindow(tr)
	win.SetPadded(false)
	win.Resize(fyne.NewSize(w, h))
	t.Cleanup(win.Close)
	return tr, win
}

// TestPictures draws every kind of view in both themes and several scales. It
// checks that nothing fails, and where LOOK_AT names a folder leaves them there
// to be looked at.
func TestPictures(t *testing.T) {
	app := test.NewTempApp(t)
	views := []struct {
		name string
		lag  float64
		do   func(*Trace)
	}{
		{"all", 60, func(*Trace) {}},
		{"some", 60, func(tr *Trace) { tr.ZoomTo(2, 6) }},
		{"early", -35, func(tr *Trace) { tr.ZoomTo(2.6, 4.8); tr.FocusGained(); tr.NextPair() }},
		{"pair", 60, func(tr *Trace) { tr.ShowPair(4) }},
		{"samples", 60, func(tr *Trace) { tr.ZoomTo(0.3985, 0.4065) }},
		{"empty", 60, func(tr *Trace) { tr.SetTake(nil) }},
	}
	for variant, name := range map[fyne.ThemeVariant]string{theme.VariantLight: "light", theme.VariantDark: "dark"} {
		app.Settings().SetTheme(look.Forced(variant))
		for _, size := range []fyne.Size{fyne.NewSize(500, 220), fyne.NewSize(1400, 500)} {
			for _, v := range views {
				tr, win := window(t, size.Width, size.Height, v.lag)
				v.do(tr)
				save(t, win, fmt.Sprintf("trace-%s-%s-%.0f.png", v.name, name, size.Width))
			}
		}
	}
}

// save captures the window, into the folder LOOK_AT if there is one.
func save(t *testing.T, win fyne.Window, name string) {
	t.Helper()
	img := win.Canvas().Capture()
	dir := os.Getenv("LOOK_AT")
	if dir == "" {
		return
	}
	f := must.Get(os.Create(filepath.Join(dir, name)))(t)
	must.Do(t, png.Encode(f, img))
	must.Do(t, f.Close())
}
