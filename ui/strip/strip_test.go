package strip

import (
	"image/color"
	"image/png"
	"os"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/handsfree"
	"lagwright/internal/must"
	"lagwright/ui/look"
)

// bands are three, of which the first is covered and the second begun.
func bands() []handsfree.Band {
	return []handsfree.Band{{FromBPM: 60, ToBPM: 75, Hits: 3}, {FromBPM: 75, ToBPM: 94, Hits: 1}, {FromBPM: 94, ToBPM: 117}}
}

// A field fills as its band is covered, and is blue once it is.
func TestFieldsFill(t *testing.T) {
	test.NewTempApp(t)
	s := New()
	s.Songs([]float64{66, 96, 110})
	s.Set(bands(), 80)
	s.Resize(fyne.NewSize(600, rowHeight))
	test.WidgetRenderer(s).Layout(s.Size())
	img := s.Board.Paint(600, rowHeight)
	if dir := os.Getenv("LOOK_AT"); dir != "" {
		f := must.Get(os.Create(dir + "/strip.png"))(t)
		defer f.Close()
		must.Do(t, png.Encode(f, img))
	}
	inks := look.Inks(s.Theme())
	high := func(x int, c color.NRGBA) (n int) {
		for y := range int(rowHeight) {
			if got := color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA); got == c {
				n++
			}
		}
		return n
	}
	if first, second, third := high(90, inks.Tight), high(300, inks.Mark), high(500, inks.Mark); first != fieldHigh || second < 5 || second > 9 || third != 0 {
		t.Errorf("the fields are filled %d, %d and %d high", first, second, third)
	}
	if label := s.AccessibilityLabel(); !strings.Contains(label, "1 of 3 tempos") {
		t.Errorf("it says %q", label)
	}
}
