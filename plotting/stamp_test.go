package plotting

import (
	"image"
	"image/color"
	"testing"
)

// A stamp has the curve's axes: a tight take is filled where the curve has it, one that
// is not is hollow, and without takes there is a dashed line alone.
func TestStampHasTheCurvesPlaces(t *testing.T) {
	const w, h = 112, 70
	c := weirCurve()
	v := c.view(inks)
	img := c.Stamp().Image(inks, w, h, 1)
	tight, hollow := 0, 0
	for _, take := range v.takes {
		x := int(v.tempos.X(take.TempoBPM, 0, w))
		y := int(v.lag.X(take.LagMS, h, 0))
		switch got := color.NRGBAModel.Convert(img.At(x, y)); {
		case take.far:
			if y = map[bool]int{true: 9, false: h - 9}[take.LagMS > 0]; color.NRGBAModel.Convert(img.At(x, y)) != inks.Paper || inked(img) == 0 {
				t.Errorf("a take of %v ms is not at the edge", take.LagMS)
			}
		case take.Converged && got == inks.Tight:
			tight++
		case !take.Converged && got == inks.Paper:
			hollow++
		default:
			t.Errorf("a take of %v ms, tight %v, has %v in its middle", take.LagMS, take.Converged, got)
		}
	}
	if tight != 3 || hollow != 1 {
		t.Errorf("%d takes filled and %d hollow, want 3 and 1", tight, hollow)
	}
	var none Stamp
	for _, empty := range []Stamp{none, Curve{ToleranceMS: 6}.Stamp()} {
		if n := inked(empty.Image(inks, w, h, 1)); n == 0 || n > 200 {
			t.Errorf("without takes %d pixels are inked", n)
		}
	}
	for _, size := range []image.Point{{}, {1, 1}, {2, 900}} {
		c.Stamp().Image(inks, size.X, size.Y, 1)
	}
}

// inked counts the pixels that differ from the first.
func inked(img image.Image) (n int) {
	r := img.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if img.At(x, y) != img.At(0, 0) {
				n++
			}
		}
	}
	return n
}
