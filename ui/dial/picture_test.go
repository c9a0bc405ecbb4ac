package dial

import (
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

// TestPictures draws plates of all kinds in both themes and sizes. It checks that
// nothing fails, and where LOOK_AT names a folder leaves them there to be looked
// at.
func TestPictures(t *testing.T) {
	app := test.NewTempApp(t)
	cases := []struct {
		name                     string
		notches, current, target int
		has                      bool
	}{
		{"ahead", 60, 14, 20, true},
		{"back", 200, -7, -48, true},
		{"stay", 24, 3, 3, true},
		{"alone", 1000, 1234, 0, false},
		{"unknown", 0, 31, 0, false},
		{"turns", 48, 10, 130, true},
		{"one", 48, 0, 1, true},
	}
	for variant, name := range map[fyne.ThemeVariant]string{theme.VariantLight: "light", theme.VariantDark: "dark"} {
		app.Settings().SetTheme(look.Forced(variant))
		for _, size := range []float32{160, 260, 420} {
			for _, c := range cases {
				d := New()
				d.SetPlate(c.notches)
				d.Set(c.current, c.target, c.has)
				win := test.NewWindow(d)
				win.SetPadded(false)
				win.Resize(fyne.NewSquareSize(size))
				save(t, win, fmt.Sprintf("dial-%s-%s-%.0f.png", c.name, name, size))
				win.Close()
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
