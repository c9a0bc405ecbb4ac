package lesson

import (
	"fmt"
	"image"
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

// asIs leaves lengths in mm.
func asIs(s string) string { return s }

// TestPictures draws all of them in both themes, with text of the usual and twice
// the size, and checks that something is drawn on each from edge to edge but
// nothing runs over an edge: the outermost pixels are paper. Where LOOK_AT names a
// folder it leaves them there to be looked at.
func TestPictures(t *testing.T) {
	app := test.NewTempApp(t)
	for variant, name := range map[fyne.ThemeVariant]string{theme.VariantLight: "light", theme.VariantDark: "dark"} {
		for _, times := range []float32{1, 2} {
			app.Settings().SetTheme(look.Larger(look.Forced(variant), times))
			for i, l := range lessons(asIs) {
				for _, wide := range []float32{leastWide * times, 920} {
					if wide < leastWide*times {
						continue
					}
					p := newPicture(l)
					win := test.NewWindow(p)
					win.SetPadded(false)
					win.Resize(fyne.NewSize(wide, p.MinSize().Height))
					file := fmt.Sprintf("lesson-%d-%s-%.0f-%.0f.png", i, name, 100*times, wide)
					if p.Size().Width < wide {
						t.Errorf("%s: the picture is %v", file, p.Size())
					}
					save(t, win, file)
					within(t, file, p)
					win.Close()
				}
			}
		}
	}
}

// within checks the sheet that was drawn last.
func within(t *testing.T, file string, p *Picture) {
	t.Helper()
	img, _ := p.Board.Paint(int(p.Size().Width), int(p.Size().Height)).(*image.RGBA)
	if img == nil {
		t.Fatalf("%s: nothing was drawn", file)
	}
	b := img.Rect
	paper, drawn := img.RGBAAt(b.Dx()/2, 1), 0
	for y := range b.Dy() {
		for x := range b.Dx() {
			if img.RGBAAt(x, y) == paper {
				continue
			}
			drawn++
			corner := (x < 8 || x >= b.Dx()-8) && (y < 8 || y >= b.Dy()-8) // round
			if edge := x < 2 || y < 2 || x >= b.Dx()-2 || y >= b.Dy()-2; edge && !corner {
				t.Errorf("%s: something is drawn over the edge at %d, %d of %v", file, x, y, b)
				return
			}
		}
	}
	if share := float64(drawn) / float64(b.Dx()*b.Dy()); share < 0.02 {
		t.Errorf("%s: only %.3f of it is drawn on", file, share)
	}
}

// save captures the window, into the folder LOOK_AT if there is one.
func save(t *testing.T, win fyne.Window, name string) {
	t.Helper()
	dir := os.Getenv("LOOK_AT")
	img := win.Canvas().Capture()
	if dir == "" {
		return
	}
	f := must.Get(os.Create(filepath.Join(dir, name)))(t)
	must.Do(t, png.Encode(f, img))
	must.Do(t, f.Close())
}
