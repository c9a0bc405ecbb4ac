package fan

import (
	"fmt"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/internal/must"
	"lagwright/ui/look"
)

// reading returns n pairs about lagMS that scatter by spread; every ninth is left
// out and one of those lies far off.
func reading(n int, lagMS, spread float64) calib.Reading {
	rng := rand.New(rand.NewPCG(5, 8))
	r := calib.Reading{LagMS: lagMS, LagCI95MS: [2]float64{lagMS - spread*0.35, lagMS + spread*0.35}}
	for i := range n {
		p := calib.Pair{ReferenceS: float64(i) * 0.65, LagMS: lagMS + rng.NormFloat64()*spread, Used: i%9 != 4}
		if i == 13 {
			p.LagMS = lagMS + 300
		}
		p.VoiceS = p.ReferenceS + p.LagMS/1000
		r.Pairs = append(r.Pairs, p)
	}
	return r
}

// TestPictures draws readings of all kinds in both themes and sizes. It checks
// that nothing fails, and where LOOK_AT names a folder leaves them there to be
// looked at.
func TestPictures(t *testing.T) {
	app := test.NewTempApp(t)
	cases := []struct {
		name      string
		reading   calib.Reading
		tolerance float64
	}{
		{"late", reading(40, 62, 5), 10},
		{"early", reading(24, -38, 6), 10},
		{"tight", reading(30, 1.7, 2.5), 5},
		{"many", reading(400, 14, 8), 10},
		{"empty", calib.Reading{}, 10},
		{"sweep", sweep(), 5},
	}
	for variant, name := range map[fyne.ThemeVariant]string{theme.VariantLight: "light", theme.VariantDark: "dark"} {
		app.Settings().SetTheme(look.Forced(variant))
		for _, size := range []fyne.Size{fyne.NewSize(260, 180), fyne.NewSize(500, 220), fyne.NewSize(1000, 420)} {
			for _, c := range cases {
				f := New()
				f.Set(c.reading, c.tolerance, 72, 96, 104, 110)
				win := test.NewWindow(f)
				win.SetPadded(false)
				win.Resize(size)
				save(t, win, fmt.Sprintf("fan-%s-%s-%.0f.png", c.name, name, size.Width))
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
