package plotting

import (
	"bytes"
	"strings"
	"testing"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"lagwright/internal/must"
)

// With a font of choice figures are lettered in it on screen and paper, an SVG
// names it, and what a PDF says can still be searched; without it all is as before.
func TestUseFont(t *testing.T) {
	t.Cleanup(func() { UseFont(nil, nil) })
	f := weirCard(3).Figure(A5)
	svg := func() string {
		var buf bytes.Buffer
		must.Do(t, f.WriteTo(&buf, "svg"))
		return buf.String()
	}
	usually, before := f.Image(800, 500, 1), svg()
	must.Do(t, UseFont(goregular.TTF, gobold.TTF))
	if difference(usually, f.Image(800, 500, 1)) == 0 {
		t.Error("the picture is lettered as before")
	}
	if s := svg(); strings.Contains(s, "Liberation") || strings.Count(s, "font-family:'Go',") != strings.Count(s, "<text") {
		t.Error("the SVG does not name the font for every text")
	}
	pdf := savePDF(t, f)
	text := poppler(t, "pdftotext", "-raw", pdf, "-")
	for _, want := range append(caution(), "Heron on the Sluice", "Weir Lane No. 2") {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("the PDF lacks %q in %q", want, text)
		}
	}
	if err := UseFont(goregular.TTF, []byte("no font")); err == nil || !strings.Contains(err.Error(), "the usual one stays") {
		t.Errorf("nonsense for a font: %v", err)
	}
	must.Do(t, UseFont(nil, nil))
	if difference(usually, f.Image(800, 500, 1)) != 0 || svg() != before {
		t.Error("the usual font is not as before")
	}
}

// Small letters take the room on screen that the font gives them, also in pairs that it
// moves together.
func TestSmallLettersStandApart(t *testing.T) {
	for _, words := range []string{"111111", "TeTeTeTe", "nnnnnn"} {
		l := lettering{size: 11, color: inks.Text}
		f := &Figure{background: inks.Paper, pages: []func(pen){func(p pen) { p.text(words, l, 10, 50, 0) }}}
		picture := f.Image(200, 100, 1)
		left, right := 200, 0
		for x := range 200 {
			for y := range 100 {
				if r, _, _, _ := picture.At(x, y).RGBA(); r < 0xa000 {
					left, right = min(left, x), max(right, x+1)
				}
			}
		}
		if wide := float64(right - left); wide < float64(l.width(words))-3 || wide > float64(l.width(words))+1 {
			t.Errorf("%s is %g pixels wide, and %.1f in the font", words, wide, l.width(words))
		}
	}
}
