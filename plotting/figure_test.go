package plotting

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"lagwright/calib"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

var regen = flag.Bool("regen", false, "write the golden images anew")

// pages returns a figure page by page.
func pages(f *Figure) (each []*Figure) {
	for i := range f.pages {
		page := *f
		page.pages = f.pages[i : i+1]
		each = append(each, &page)
	}
	return each
}

// svgText is a piece of text in an SVG and its font size in points.
type svgText struct {
	text string
	size float64
}

var fontSize = regexp.MustCompile(`font-size:([0-9.]+)px`)

// svgParts returns the texts of the figure's SVG, which must be sound XML.
func svgParts(t *testing.T, f *Figure) []svgText {
	t.Helper()
	var buf bytes.Buffer
	must.Do(t, f.WriteTo(&buf, "svg"))
	var parts []svgText
	for d := xml.NewDecoder(&buf); ; {
		token, err := d.Token()
		if err == io.EOF {
			return parts
		}
		if err != nil {
			t.Fatalf("the SVG is not XML: %v", err)
		}
		if start, ok := token.(xml.StartElement); ok && start.Name.Local == "text" {
			var body struct {
				Style string `xml:"style,attr"`
				Text  string `xml:",chardata"`
			}
			must.Do(t, d.DecodeElement(&body, &start))
			size := must.Get(strconv.ParseFloat(fontSize.FindStringSubmatch(body.Style)[1], 64))(t)
			parts = append(parts, svgText{body.Text, size})
		}
	}
}

func svgTexts(t *testing.T, f *Figure) []string {
	t.Helper()
	var texts []string
	for _, part := range svgParts(t, f) {
		texts = append(texts, part.text)
	}
	return texts
}

// wantTexts fails the test for each text that is not among those of a figure.
func wantTexts(t *testing.T, texts []string, wants ...string) {
	t.Helper()
	for _, want := range wants {
		if !slices.Contains(texts, want) {
			t.Errorf("the figure lacks %q; it has %q", want, texts)
		}
	}
}

func TestImageHasTheSizeAskedFor(t *testing.T) {
	curve := weirCurve().Figure(inks)
	card := weirCard(3).Figure(A5)
	for _, f := range []*Figure{curve, card} {
		for _, size := range [][2]int{{-5, 0}, {1, 1}, {333, 1}, {333, 201}, {1001, 77}} {
			for _, scale := range []float64{0, nan, -1, 1, 1.25, 1.5, 2} {
				got := f.Image(size[0], size[1], scale).Bounds()
				if want := image.Rect(0, 0, max(size[0], 1), max(size[1], 1)); got != want {
					t.Errorf("%v at scale %v gives %v", size, scale, got)
				}
			}
		}
	}
	if b := curve.Image(1e9, 3, 1).Bounds(); b.Dx() != maxPixels {
		t.Errorf("an enormous width gives %v", b)
	}
}

// At twice the scale on twice the pixels a figure is the same picture.
func TestScaleKeepsThePicture(t *testing.T) {
	f := weirCurve().Figure(inks)
	plain, fine := f.Image(600, 400, 1), f.Image(1200, 800, 2)
	halved := image.NewRGBA(plain.Bounds())
	for y := range 400 {
		for x := range 600 {
			halved.Set(x, y, mean(fine.At(2*x, 2*y), fine.At(2*x+1, 2*y), fine.At(2*x, 2*y+1), fine.At(2*x+1, 2*y+1)))
		}
	}
	if d := difference(plain, halved); d > 2.5 {
		t.Errorf("the pictures differ by %.2f levels a channel", d)
	}
	if d := difference(plain, f.Image(600, 400, 2)); d < 4 {
		t.Errorf("scale makes next to no difference (%.2f levels)", d)
	}
}

func mean(colors ...color.Color) color.Color {
	var r, g, b uint32
	for _, c := range colors {
		cr, cg, cb, _ := c.RGBA()
		r, g, b = r+cr, g+cg, b+cb
	}
	n := uint32(len(colors))
	return color.RGBA64{uint16(r / n), uint16(g / n), uint16(b / n), 0xFFFF}
}

// difference is the mean difference of two pictures of the same size, in
// levels of 256 a channel.
func difference(a, b image.Image) float64 {
	sum, bounds := 0.0, a.Bounds()
	for y := bounds.Min.Y; y < bounds.Max.Y; y++ {
		for x := bounds.Min.X; x < bounds.Max.X; x++ {
			ar, ag, ab, _ := a.At(x, y).RGBA()
			br, bg, bb, _ := b.At(x, y).RGBA()
			for _, pair := range [][2]uint32{{ar, br}, {ag, bg}, {ab, bb}} {
				sum += math.Abs(float64(pair[0])-float64(pair[1])) / 257
			}
		}
	}
	return sum / float64(3*bounds.Dx()*bounds.Dy())
}

// Golden images hold the look; what the figures say is tested as data. The
// tolerance allows for edges rounded otherwise on other processors; a take moved
// by its own size differs by about 0.05 levels.
const goldenTolerance = 0.03

func TestGoldenImages(t *testing.T) {
	curve := weirCurve().Figure(inks)
	fan := weirFan(60).figure()
	card := weirCard(4).Figure(A5)
	list := weirCard(12).Figure(A4)
	voices := weirVoices(12).Figure(inks)
	report := weirReport().Figure(A5)
	for name, got := range map[string]image.Image{
		"curve": curve.Image(480, 320, 1), "fan": fan.Image(480, 280, 1), "card": printout(card, 72),
		"list": printout(list, 50), "voices": voices.Image(620, 440, 1), "report": printout(report, 101),
	} {
		path := filepath.Join("testdata", name+".png")
		if *regen {
			writePNG(t, path, got)
		}
		if d := differenceTo(t, path, got); d > goldenTolerance {
			failed := filepath.Join("testdata", "failed", name+".png")
			writePNG(t, failed, got)
			t.Errorf("%s: differs by %.2f levels from the golden image; see %s, or run with -regen", name, d, failed)
		}
	}
}

// printout is a figure on its page.
func printout(f *Figure, dpi int) image.Image { return f.raster(f.width, f.height, dpi, f.pages) }

func writePNG(t *testing.T, path string, img image.Image) {
	t.Helper()
	var buf bytes.Buffer
	must.Do(t, png.Encode(&buf, img))
	must.Do(t, os.MkdirAll(filepath.Dir(path), 0o755))
	must.Do(t, os.WriteFile(path, buf.Bytes(), 0o644))
}

func differenceTo(t *testing.T, path string, got image.Image) float64 {
	t.Helper()
	data := must.Get(os.ReadFile(path))(t)
	want := must.Get(png.Decode(bytes.NewReader(data)))(t)
	if want.Bounds() != got.Bounds() {
		return math.Inf(1)
	}
	return difference(want, got)
}

// An axis that is not finite would hang gonum/plot for ever, until go test's time is
// over.
func TestHostileFiguresNeitherHangNorPanic(t *testing.T) {
	if testing.Short() {
		t.Skip("draws hundreds of figures")
	}
	values := []float64{nan, inf, -inf, 0, -1e9, 1e9, 1e308, 5e-324, -7, 96}
	var figures []*Figure
	add := func(f *Figure) { figures = append(figures, f) }
	text := "Weir\x00 <&> \xff\u2028" + strings.Repeat("long ", 4000)
	curve := Curve{Title: text, Voice: text, ToleranceMS: 6, TargetBPM: nan}
	fan := hitFan{Reading: calib.Reading{LagMS: 1e9, LagCI95MS: [2]float64{nan, 3}}}
	card := Card{Machine: text, List: text, NotchesPerTurn: -math.MaxInt64}
	for _, a := range values {
		for _, b := range values {
			curve.Songs = append(curve.Songs, CurveSong{text, a, math.MinInt64, [2]float64{b, a}, true, curve.Laws})
			curve.Takes = append(curve.Takes, CurveTake{TempoBPM: a, LagMS: b, CI95MS: [2]float64{b, a}, Setting: math.MinInt64, Voice: text})
			curve.Laws = append(curve.Laws, CurveLaw{Voice: text, LagMS: func(float64) (float64, float64) { return a, b }, Current: true})
			fan.Pairs = append(fan.Pairs, calib.Pair{LagMS: a, Used: true}, calib.Pair{LagMS: b, Used: true})
			card.Lines = append(card.Lines, Settled{Song: text, TempoBPM: a, SettingSteps: math.MinInt64, MoveSteps: math.MaxInt64, WindowBPM: [2]float64{a, b}, LagMS: b})
		}
	}
	add(curve.Figure(inks))
	add(Curve{Laws: make([]CurveLaw, 200)}.Figure(inks))
	add(crowdedCurve(deeptest.Of(500, 5000), deeptest.Of(50, 200)).Figure(Theme{}))
	add(weirVoices(60).Figure(Theme{}))
	add(fan.figure())
	add(hitFan{Reading: calib.Reading{Pairs: []calib.Pair{{LagMS: 1e5}, {LagMS: -1e5, Used: true}, {LagMS: 3, Used: true}}}}.figure())
	add(weirFan(deeptest.Of(10000, 100000)).figure())
	add(card.Figure(A5))
	add(Card{NotchesPerTurn: math.MaxInt64, Lines: card.Lines[:1]}.Figure(A5))
	add(weirCard(30).Figure(A5))
	sizes := [][2]int{{0, 0}, {1, 1}, {1, 900}, {900, 1}, {60, 45}, {61, 400}, {400, 37}, {400, 300}}
	for i, f := range figures {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			for _, size := range sizes {
				f.Image(size[0], size[1], 1)
			}
			svgTexts(t, f)
			if err := f.WriteTo(io.Discard, "pdf"); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestFigureServesSeveralGoroutines(t *testing.T) {
	curve := weirCurve().Figure(inks)
	fan := weirFan(30).figure()
	card := weirCard(7).Figure(A5)
	var group sync.WaitGroup
	for _, f := range []*Figure{curve, fan, card} {
		for range 3 {
			group.Go(func() { f.Image(300, 200, 1) })
			group.Go(func() {
				if err := f.WriteTo(io.Discard, "pdf"); err != nil {
					t.Error(err)
				}
			})
		}
	}
	group.Wait()
}

func TestWordsAndNumbers(t *testing.T) {
	for n, want := range map[int]string{12: "+12", 0: "0", -5: "−5"} {
		if got := calib.SettingWords(n); got != want {
			t.Errorf("setting %d is %q, want %q", n, got, want)
		}
	}
	for v, want := range map[float64]string{6: "6", 2.5: "2.5", -0.01: "0", -7.26: "−7.3"} {
		if got := compact(v); got != want {
			t.Errorf("compact(%v) = %q, want %q", v, got, want)
		}
	}
	if got := clean(" a\x00b\u2028c\xffd\n"); got != "a b c?d" {
		t.Errorf("clean gives %q", got)
	}
}

func TestTextFits(t *testing.T) {
	l := lettering{size: 12}
	for _, width := range []float64{0, 5, 20, 80} {
		if s := l.fit("Sluice Gate Hornpipe", width); l.width(s) > width+0.1 {
			t.Errorf("%q is wider than %v", s, width)
		}
	}
	lines := l.wrap("No takes yet: play the machine at one tempo, record, and the first point appears here.", 200)
	if got := strings.Join(lines, " "); got != "No takes yet: play the machine at one tempo, record, and the first point appears here." {
		t.Errorf("wrapping changes the text to %q", got)
	}
	if i := slices.IndexFunc(lines, func(s string) bool { return l.width(s) > 200 }); i >= 0 {
		t.Errorf("line %q is too wide", lines[i])
	}
}

// What Save cannot do it says with the path that was asked for.
func TestSaveSaysWhere(t *testing.T) {
	f := weirCurve().Figure(inks)
	dir := t.TempDir()
	for path, says := range map[string]string{
		dir:                                 "which is a folder",
		filepath.Join(dir, "gone", "c.png"): "check that its folder is there",
		filepath.Join(dir, "curve.gif"):     ".svg",
	} {
		err := f.Save(path)
		if err == nil || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), says) || strings.Contains(err.Error(), ".tmp") {
			t.Errorf("saving to %s: %v", path, err)
		}
	}
}
