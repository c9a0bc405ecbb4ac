package rail

import (
	"image/color"
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/ui/look"
)

// Louder lies further right, within the rail's ends.
func TestPlace(t *testing.T) {
	before := math.Inf(-1)
	for _, dbfs := range []float64{math.Inf(-1), -90, -60, -40, -3, 0, 6} {
		x := place(dbfs, 100, 400)
		if x < 100 || x > 400 || x < before {
			t.Errorf("%g dBFS lies at %g after %g", dbfs, x, before)
		}
		before = x
	}
	if place(-66, 100, 400) != 100 || place(0, 100, 400) != 400 {
		t.Error("the rail does not reach from its softest to its loudest level")
	}
}

// The ball is drawn where the level is, and the words say it.
func TestBall(t *testing.T) {
	test.NewTempApp(t)
	r := New("Reference", look.Reference, -40, -3)
	r.Resize(fyne.NewSize(500, 26))
	test.WidgetRenderer(r).Layout(r.Size())
	inked := look.Pick(r.Theme(), look.Reference, fyne.CurrentApp().Settings().ThemeVariant())
	at := func() float64 {
		img := r.Board.Paint(500, 26)
		sum, n := 0.0, 0.0
		for x := 130; x < 360; x++ { // right of the name, left of the word
			if same(img.At(x, 13), inked) {
				sum, n = sum+float64(x), n+1
			}
		}
		return sum / n
	}
	r.Set(Level{NowDBFS: -50, HeldDBFS: -50, Word: "too quiet"})
	quiet := at()
	r.Set(Level{NowDBFS: -10, HeldDBFS: -10, Word: "good", Good: true})
	loud := at()
	left, right := 120+ball, 500-wordWidth-ball
	if math.Abs(quiet-place(-50, left, right)) > 1.5 || math.Abs(loud-place(-10, left, right)) > 1.5 {
		t.Errorf("the ball lies at %.1f and %.1f", quiet, loud)
	}
	if words := r.AccessibilityLabel(); !strings.Contains(words, "Reference") || !strings.Contains(words, "10 dB") || !strings.Contains(words, "good") {
		t.Errorf("it says %q", words)
	}
}

func same(a, b color.Color) bool {
	r, g, bl, _ := a.RGBA()
	x, y, z, _ := b.RGBA()
	return r>>8 == x>>8 && g>>8 == y>>8 && bl>>8 == z>>8
}
