package fan

import (
	"image"
	"image/color"
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/ui/look"
)

// shown returns a fan of the given size and reading.
func shown(w, h float32, r calib.Reading, tolerance float64) *Fan {
	f := New()
	f.Resize(fyne.NewSize(w, h))
	f.Set(r, tolerance)
	return f
}

// count returns how many pixels left and right of a column hold the colour exactly.
func count(img *image.RGBA, c color.Color, column int) (left, right int) {
	want := color.RGBAModel.Convert(c).(color.RGBA)
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			switch {
			case img.RGBAAt(x, y) != want:
			case x < column:
				left++
			default:
				right++
			}
		}
	}
	return left, right
}

// TestLateIsRight checks on which side of the reference the voice hits stand.
func TestLateIsRight(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(look.Forced(theme.VariantLight))
	for _, lag := range []float64{60, -60} {
		f := shown(600, 300, reading(20, lag, 3), 0)
		img := f.Board.Paint(600, 300).(*image.RGBA)
		zero := int(f.fan.Field(600, 300, 13).X(0))
		left, right := count(img, look.Color(look.Voice, theme.VariantLight), zero)
		if lag < 0 {
			left, right = right, left
		}
		if right < 10*left || right == 0 { // the word on the other side counts too
			t.Errorf("lag %v: %d pixels of heads on its side, %d on the other", lag, right, left)
		}
	}
}

func TestLabel(t *testing.T) {
	test.NewTempApp(t)
	f := shown(300, 200, reading(20, 62, 3), 10)
	for _, want := range []string{"62.0 ms late", "18 pairs", "2 left out", "late"} {
		if got := f.AccessibilityLabel(); !strings.Contains(got, want) {
			t.Errorf("label %q does not say %q", got, want)
		}
	}
	f.Set(reading(20, -4, 3), 10)
	if got := f.fan.Verdict(); got != "tight" {
		t.Errorf("–4 within 10 is %q", got)
	}
	f.Set(calib.Reading{}, 10)
	none := f.AccessibilityLabel()
	f.Clear()
	if cleared := f.AccessibilityLabel(); none == "" || cleared == "" || none == cleared {
		t.Errorf("empty says %q, cleared says %q", none, cleared)
	}
}

// TestAnything draws any reading, even senseless, at any size and scale.
func TestAnything(t *testing.T) {
	test.NewTempApp(t)
	odd := rapid.OneOf(rapid.Float64Range(-300, 300), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1)}))
	rapid.Check(t, func(t *rapid.T) {
		r := calib.Reading{LagMS: odd.Draw(t, "lag"), LagCI95MS: [2]float64{odd.Draw(t, "lo"), odd.Draw(t, "hi")}}
		for range rapid.IntRange(0, 12).Draw(t, "pairs") {
			r.Pairs = append(r.Pairs, calib.Pair{LagMS: odd.Draw(t, "pair"), Used: rapid.Bool().Draw(t, "used")})
		}
		w, h := rapid.IntRange(0, 300).Draw(t, "w"), rapid.IntRange(0, 200).Draw(t, "h")
		f := shown(float32(w), float32(h), r, odd.Draw(t, "tolerance"))
		scale := rapid.SampledFrom([]float64{1, 1.5, 2}).Draw(t, "scale")
		pw, ph := int(math.Ceil(float64(w)*scale)), int(math.Ceil(float64(h)*scale))
		if got := f.Board.Paint(pw, ph).Bounds().Size(); got != image.Pt(pw, ph) {
			t.Fatalf("asked for %d by %d, got %v", pw, ph, got)
		}
	})
}
