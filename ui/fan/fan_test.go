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
func shown(w, h float32, r calib.Reading, tolerance, limit float64) *Fan {
	f := New()
	f.Resize(fyne.NewSize(w, h))
	f.Set(r, tolerance, limit)
	return f
}

// extent returns the first and the last column that holds the colour exactly.
func extent(img *image.RGBA, c color.Color) (lo, hi int) {
	want := color.RGBAModel.Convert(c).(color.RGBA)
	lo, hi = img.Rect.Dx(), -1
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			if img.RGBAAt(x, y) == want {
				lo, hi = min(lo, x), max(hi, x)
			}
		}
	}
	return lo, hi
}

// TestLateIsRight checks on which side of the reference the voice hits stand.
func TestLateIsRight(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(look.Forced(theme.VariantLight))
	for _, lag := range []float64{60, -60} {
		f := shown(600, 300, reading(20, lag, 3), 0, 0)
		img := f.paint(600, 300).(*image.RGBA)
		zero := int(axisOf(&f.reading, 0).x(0, 14, 586))
		lo, hi := extent(img, look.Color(look.Voice, theme.VariantLight))
		if lag > 0 && lo < zero || lag < 0 && hi > zero {
			t.Errorf("lag %v: heads from %d to %d, zero at %d", lag, lo, hi, zero)
		}
		if lo > hi {
			t.Errorf("lag %v: no head is drawn", lag)
		}
	}
}

// TestAxis checks for any reading that zero, tolerance, interval and used lags are
// in sight, and the labels are few, distinct and hold zero.
func TestAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := calib.Reading{LagMS: rapid.Float64Range(-500, 500).Draw(t, "lag")}
		r.LagCI95MS = [2]float64{r.LagMS - 2, r.LagMS + 2}
		for range rapid.IntRange(0, 20).Draw(t, "pairs") {
			r.Pairs = append(r.Pairs, calib.Pair{LagMS: rapid.Float64Range(-500, 500).Draw(t, "pair"), Used: rapid.Bool().Draw(t, "used")})
		}
		tolerance := rapid.Float64Range(0, 50).Draw(t, "tolerance")
		a := axisOf(&r, tolerance)
		seen := []float64{0, leastReach, -leastReach, tolerance, -tolerance, r.LagCI95MS[0], r.LagCI95MS[1]}
		for _, p := range r.Pairs {
			if p.Used {
				seen = append(seen, p.LagMS)
			}
		}
		for _, ms := range seen {
			if ms <= a.lo || ms >= a.hi {
				t.Fatalf("%v is not between %v and %v", ms, a.lo, a.hi)
			}
		}
		marks, labels := a.marks(8), map[string]bool{}
		for _, m := range marks {
			labels[m.label] = true
		}
		if !labels["0"] || len(labels) != len(marks) || len(marks) > 9 {
			t.Fatalf("marks %v", marks)
		}
	})
}

// TestOutliersDoNotStretch checks that a pair left out does not squeeze the rest.
func TestOutliersDoNotStretch(t *testing.T) {
	r := reading(30, 2, 1)
	if a := axisOf(&r, 5); a.hi > 20 {
		t.Errorf("the axis reaches to %v for lags about 2", a.hi)
	}
}

func TestFigures(t *testing.T) {
	for _, c := range []struct {
		ms, step float64
		want     string
	}{{10, 5, "+10"}, {-5, 5, "–5"}, {0, 5, "0"}, {2.5, 0.5, "+2.5"}, {-1e-15, 0.5, "0"}} {
		if got := figure(c.ms, c.step); got != c.want {
			t.Errorf("figure(%v, %v) = %q, want %q", c.ms, c.step, got, c.want)
		}
	}
}

func TestLabel(t *testing.T) {
	test.NewTempApp(t)
	f := shown(300, 200, reading(20, 62, 3), 10, 0)
	for _, want := range []string{"62.0 ms late", "18 pairs", "2 left out", "late"} {
		if got := f.AccessibilityLabel(); !strings.Contains(got, want) {
			t.Errorf("label %q does not say %q", got, want)
		}
	}
	f.Set(reading(20, -4, 3), 10, 0)
	if got := f.verdict(); got != "tight" {
		t.Errorf("–4 within 10 is %q", got)
	}
	f.Set(calib.Reading{}, 10, 0)
	none := f.AccessibilityLabel()
	f.Clear()
	if cleared := f.AccessibilityLabel(); none == "" || cleared == "" || none == cleared {
		t.Errorf("empty says %q, cleared says %q", none, cleared)
	}
}

// TestShapes checks that used and rejected pairs differ by more than colour: a
// diamond is full in its middle's row, a cross is not.
func TestShapes(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(look.Forced(theme.VariantLight))
	for _, used := range []bool{true, false} {
		f := shown(600, 300, calib.Reading{Pairs: []calib.Pair{{LagMS: 8, Used: used}}}, 0, 0)
		img := f.paint(600, 300).(*image.RGBA)
		c := inks(f.Theme())
		g := layout(f, &c, 600, 300)
		head := g.head(0, 1, f.reading.Pairs[0])
		paper := color.RGBAModel.Convert(c.paper)
		y := int(head.Y)
		filled := img.RGBAAt(int(head.X)+3, y) != paper && img.RGBAAt(int(head.X)-3, y) != paper
		if filled != used {
			t.Errorf("used %v: the head's row is filled %v", used, filled)
		}
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
		f := shown(float32(w), float32(h), r, odd.Draw(t, "tolerance"), odd.Draw(t, "limit"))
		scale := rapid.SampledFrom([]float64{1, 1.5, 2}).Draw(t, "scale")
		pw, ph := int(math.Ceil(float64(w)*scale)), int(math.Ceil(float64(h)*scale))
		if got := f.paint(pw, ph).Bounds().Size(); got != image.Pt(pw, ph) {
			t.Fatalf("asked for %d by %d, got %v", pw, ph, got)
		}
	})
}
