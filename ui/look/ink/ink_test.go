package ink

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"

	"lagwright/plotting/sketch"
)

// pen returns a pen on a clear image of w by h device pixels.
func pen(t testing.TB, w, h int, scale float64) *Pen {
	t.Helper()
	return On(image.NewRGBA(image.Rect(0, 0, w, h)), scale, theme.DefaultTheme())
}

// covered returns the covered area in device-independent square pixels.
func covered(p *Pen) float64 {
	sum := 0.0
	for i := 3; i < len(p.Img.Pix); i += 4 {
		sum += float64(p.Img.Pix[i]) / 255
	}
	return sum / p.Scale / p.Scale
}

// TestAreas draws shapes of known area at several scales.
func TestAreas(t *testing.T) {
	const tol = 0.02 // of the area: edges are smoothed in 1/256
	shapes := []struct {
		name string
		draw func(*Pen)
		want float64
	}{
		{"disc", func(p *Pen) { p.Disc(color.Black, 50, 50, 30) }, math.Pi * 900},
		{"ring", func(p *Pen) { p.Ring(color.Black, 50, 50, 30, 4) }, math.Pi * (32*32 - 28*28)},
		{"arc", func(p *Pen) { p.Arc(color.Black, 50, 50, 30, 4, 1, 2.5) }, 1.5 / 2 * (32*32 - 28*28)},
		{"diamond", func(p *Pen) { p.Diamond(color.Black, 50, 50, 20) }, 800},
		{"box", func(p *Pen) { p.Box(color.Black, 10, 10, 30, 20) }, 200},
		{"line", func(p *Pen) { p.Line(color.Black, 3, sketch.Pt{X: 10, Y: 10}, sketch.Pt{X: 40, Y: 50}) }, 150},
		{"dashes", func(p *Pen) { p.Dashes(color.Black, 2, 5, sketch.Pt{X: 10, Y: 10}, sketch.Pt{X: 90, Y: 10}) }, 80},
		{"card", func(p *Pen) { p.Card(color.Black, 10, 10, 50, 40, 6) }, 1200 - (4-math.Pi)*36},
		{"upright", func(p *Pen) { p.Upright(color.Black, 20, 10, 60, 2) }, 100},
		{"level", func(p *Pen) { p.Level(color.Black, 10, 60, 20, 2) }, 100},
	}
	for _, scale := range []float64{1, 1.5, 2} {
		for _, s := range shapes {
			p := pen(t, int(100*scale), int(100*scale), scale)
			s.draw(p)
			if got := covered(p); math.Abs(got-s.want) > tol*s.want {
				t.Errorf("%s at scale %v covers %.1f, want %.1f", s.name, scale, got, s.want)
			}
		}
	}
}

// TestOutside draws beyond every edge and what cannot be drawn: nothing may
// panic, and a shape that covers the image still does.
func TestOutside(t *testing.T) {
	p := pen(t, 20, 20, 1)
	for _, v := range []float64{-1e9, 1e9, math.NaN(), math.Inf(1)} {
		p.Disc(color.Black, v, v, 10)
		p.Line(color.Black, 2, sketch.Pt{X: v, Y: 0}, sketch.Pt{X: 0, Y: v})
		p.Upright(color.Black, v, 0, 10, 1)
		p.Text(color.Black, v, 5, sketch.Left, 12, false, "late")
	}
	p = pen(t, 20, 20, 1)
	p.Disc(color.Black, 500, 10, 1000)
	if got := covered(p); math.Abs(got-400) > 1 {
		t.Errorf("a disc over everything covers %.1f, want 400", got)
	}
	p = pen(t, 0, 0, 1)
	p.Disc(color.Black, 0, 0, 5)
	p.Text(color.Black, 0, 0, sketch.Centre, 12, true, "late")
}

// TestText checks that text has ink where it should, scales with the display and
// is measured as it is drawn.
func TestText(t *testing.T) {
	test.NewTempApp(t)
	one, two := pen(t, 200, 40, 1), pen(t, 400, 80, 2)
	w1 := one.Text(color.Black, 10, 20, sketch.Left, 16, false, "+12.4 ms late")
	w2 := two.Text(color.Black, 10, 20, sketch.Left, 16, false, "+12.4 ms late")
	if math.Abs(w1-w2) > 1 || w1 != one.TextWidth(16, false, "+12.4 ms late") {
		t.Errorf("widths %v and %v, want the same", w1, w2)
	}
	if a, b := covered(one), covered(two); math.Abs(a-b) > 0.1*b {
		t.Errorf("ink %v and %v at scales 1 and 2, want about the same", a, b)
	}
	if one.TextWidth(16, false, "") != 0 || one.Text(color.Black, 0, 0, sketch.Left, 0, false, "x") != 0 {
		t.Error("nothing to write has a width")
	}
}

// TestMinus checks that a true minus is legible in the toolkit's font, which has
// none.
func TestMinus(t *testing.T) {
	test.NewTempApp(t)
	a, b := pen(t, 60, 30, 1), pen(t, 60, 30, 1)
	a.Text(color.Black, 5, 15, sketch.Left, 16, false, "−3")
	b.Text(color.Black, 5, 15, sketch.Left, 16, false, "–3")
	if string(a.Img.Pix) != string(b.Img.Pix) {
		t.Error("a minus sign is not drawn as an en dash")
	}
}

// TestBadFont checks that a font that cannot be read costs the text only.
func TestBadFont(t *testing.T) {
	p := pen(t, 50, 20, 1)
	p.Theme = badFont{theme.DefaultTheme()}
	if w := p.Text(color.Black, 5, 10, sketch.Left, 12, false, "late"); w != 0 || covered(p) != 0 {
		t.Errorf("a broken font wrote something %v wide", w)
	}
}

type badFont struct{ fyne.Theme }

func (badFont) Font(fyne.TextStyle) fyne.Resource {
	return fyne.NewStaticResource("broken.ttf", []byte("no font"))
}

// Bars are the same as so many boxes, down or up, also where they leave the image.
func TestBars(t *testing.T) {
	heights := []float64{0, 3, 40, 7.4, 1e9}
	for _, scale := range []float64{1, 1.5} {
		for _, way := range []float64{1, -1} {
			bars, boxes := pen(t, 6, 30, scale), pen(t, 6, 30, scale)
			for i := range heights {
				heights[i] = way * math.Abs(heights[i])
				if x := float64(i) / scale; heights[i] != 0 {
					boxes.Box(color.NRGBA{1, 2, 3, 255}, x, 10+min(0, heights[i]), x+1/scale, 10+max(0, heights[i]))
				}
			}
			bars.Bars(color.NRGBA{1, 2, 3, 255}, 10, heights)
			if !bytes.Equal(bars.Img.Pix, boxes.Img.Pix) {
				t.Errorf("at scale %g, way %g: bars and boxes differ", scale, way)
			}
		}
	}
}

// Small letters move together no further than the font says for their size.
func TestSmallLettersStandApart(t *testing.T) {
	p := pen(t, 10, 10, 1)
	for _, words := range []string{"111111", "TeTeTeTe", "nnnnnn"} {
		small, large := p.TextWidth(11, false, words), p.TextWidth(88, false, words)/8
		if math.Abs(small-large) > 0.5 {
			t.Errorf("%s is %.2f wide, and an eighth of it eight times as large %.2f", words, small, large)
		}
	}
}
