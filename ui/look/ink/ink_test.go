package ink

import (
	"image"
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"pgregory.net/rapid"
)

// pen returns a pen on a clear image of w by h device pixels.
func pen(t testing.TB, w, h int, scale float64) *Pen {
	t.Helper()
	return &Pen{Img: image.NewRGBA(image.Rect(0, 0, w, h)), Scale: scale, Theme: theme.DefaultTheme()}
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
		{"line", func(p *Pen) { p.Line(color.Black, 3, Pt{10, 10}, Pt{40, 50}) }, 150},
		{"dashes", func(p *Pen) { p.Dashes(color.Black, 2, 5, Pt{10, 10}, Pt{90, 10}) }, 80},
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

// TestOn checks the four quarters of the clock.
func TestOn(t *testing.T) {
	for quarter, want := range []Pt{{0, -1}, {1, 0}, {0, 1}, {-1, 0}} {
		got := On(0, 0, 1, float64(quarter)*math.Pi/2)
		if math.Hypot(got.X-want.X, got.Y-want.Y) > 1e-12 {
			t.Errorf("quarter %d is at %v, want %v", quarter, got, want)
		}
	}
}

// TestOutside draws beyond every edge and what cannot be drawn: nothing may
// panic, and a shape that covers the image still does.
func TestOutside(t *testing.T) {
	p := pen(t, 20, 20, 1)
	for _, v := range []float64{-1e9, 1e9, math.NaN(), math.Inf(1)} {
		p.Disc(color.Black, v, v, 10)
		p.Line(color.Black, 2, Pt{v, 0}, Pt{0, v})
		p.Upright(color.Black, v, 0, 10, 1)
		p.Text(color.Black, v, 5, Left, 12, false, "late")
	}
	p = pen(t, 20, 20, 1)
	p.Disc(color.Black, 500, 10, 1000)
	if got := covered(p); math.Abs(got-400) > 1 {
		t.Errorf("a disc over everything covers %.1f, want 400", got)
	}
	p = pen(t, 0, 0, 1)
	p.Disc(color.Black, 0, 0, 5)
	p.Text(color.Black, 0, 0, Centre, 12, true, "late")
}

// TestText checks that text has ink where it should, scales with the display and
// is measured as it is drawn.
func TestText(t *testing.T) {
	test.NewTempApp(t)
	one, two := pen(t, 200, 40, 1), pen(t, 400, 80, 2)
	w1 := one.Text(color.Black, 10, 20, Left, 16, false, "+12.4 ms late")
	w2 := two.Text(color.Black, 10, 20, Left, 16, false, "+12.4 ms late")
	if math.Abs(w1-w2) > 1 || w1 != one.TextWidth(16, false, "+12.4 ms late") {
		t.Errorf("widths %v and %v, want the same", w1, w2)
	}
	if a, b := covered(one), covered(two); math.Abs(a-b) > 0.1*b {
		t.Errorf("ink %v and %v at scales 1 and 2, want about the same", a, b)
	}
	if one.TextWidth(16, false, "") != 0 || one.Text(color.Black, 0, 0, Left, 0, false, "x") != 0 {
		t.Error("nothing to write has a width")
	}
}

// TestMinus checks that a true minus is legible in the toolkit's font, which has
// none.
func TestMinus(t *testing.T) {
	test.NewTempApp(t)
	a, b := pen(t, 60, 30, 1), pen(t, 60, 30, 1)
	a.Text(color.Black, 5, 15, Left, 16, false, "−3")
	b.Text(color.Black, 5, 15, Left, 16, false, "–3")
	if string(a.Img.Pix) != string(b.Img.Pix) {
		t.Error("a minus sign is not drawn as an en dash")
	}
}

// TestWrap checks that no word is lost and no line too wide.
func TestWrap(t *testing.T) {
	test.NewTempApp(t)
	p := pen(t, 1, 1, 1)
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-z]{1,8}`), 1, 20).Draw(t, "words")
		joined := ""
		for i, w := range words {
			if i > 0 {
				joined += " "
			}
			joined += w
		}
		got := ""
		for i, line := range p.Wrap(14, joined, 120) {
			if i > 0 {
				got += " "
			}
			got += line
			if p.TextWidth(14, false, line) > 120 {
				t.Fatalf("line %q is too wide", line)
			}
		}
		if got != joined {
			t.Fatalf("wrapped to %q, want %q", got, joined)
		}
	})
}

// TestBadFont checks that a font that cannot be read costs the text only.
func TestBadFont(t *testing.T) {
	p := pen(t, 50, 20, 1)
	p.Theme = badFont{theme.DefaultTheme()}
	if w := p.Text(color.Black, 5, 10, Left, 12, false, "late"); w != 0 || covered(p) != 0 {
		t.Errorf("a broken font wrote something %v wide", w)
	}
}

type badFont struct{ fyne.Theme }

func (badFont) Font(fyne.TextStyle) fyne.Resource {
	return fyne.NewStaticResource("broken.ttf", []byte("no font"))
}

func TestRoundStep(t *testing.T) {
	for least, want := range map[float64]float64{1: 1, 1.1: 2, 2.5: 5, 7: 10, 0.03: 0.05, 0.0011: 0.002, 120: 200} {
		if got := RoundStep(least); got != want {
			t.Errorf("RoundStep(%v) = %v, want %v", least, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		least := rapid.Float64Range(1e-6, 1e6).Draw(t, "least")
		if got := RoundStep(least); got < least*(1-1e-8) || got > least*2.5*(1+1e-8) {
			t.Fatalf("RoundStep(%v) = %v", least, got)
		}
	})
	for step, want := range map[float64]int{1: 0, 20: 0, 0.5: 1, 0.1: 1, 0.02: 2, 0.001: 3} {
		if got := Decimals(step); got != want {
			t.Errorf("Decimals(%v) = %d, want %d", step, got, want)
		}
	}
}

// TestMix checks the ends and the middle.
func TestMix(t *testing.T) {
	if Mix(color.White, color.Black, 0) != (color.RGBA{255, 255, 255, 255}) || Mix(color.White, color.Black, 1) != (color.RGBA{0, 0, 0, 255}) {
		t.Error("the ends of a mix are not its colours")
	}
	if got := Mix(color.White, color.Black, 0.5).R; got < 126 || got > 128 {
		t.Errorf("the middle is %d", got)
	}
}
