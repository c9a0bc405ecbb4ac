package plotting

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgpdf"
	"gonum.org/v1/plot/vg/vgsvg"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

const (
	mm       = inch / 25.4 // in points
	inch     = 72.0
	paperDPI = 200

	maxPixels = 8192 // a side; larger requests are cut down to it
	mostInPNG = 10   // pages; of A4 each takes 15 MB while it is drawn
	// Below this size, in points, a figure is a plain field of background.
	minWidth, minHeight = 48, 36
)

// Figure is a finished drawing that fits itself to any size. It is immutable
// and safe for use by several goroutines at once.
type Figure struct {
	width, height float64 // of a page on paper
	background    color.NRGBA
	pages         []func(pen)               // each draws into the pen's rectangle, background already filled
	table         []byte                    // the same as CSV; nil = none
	near          func(pen, sketch.Pt) Near // what is drawn near a point; nil = nothing that is picked
	axes          CurveAxes                 // of a curve: all it has
}

// Pages returns how many pages the figure has.
func (f *Figure) Pages() int { return len(f.pages) }

// Image draws the figure's first page on widthPx by heightPx device pixels. Scale is the
// number of device pixels to a device-independent one (1 on a plain screen, 2
// on a HiDPI one), so that text keeps its size. Sizes below one pixel give one
// pixel, sizes above 8192 give 8192, a scale that makes no sense counts as 1.
func (f *Figure) Image(widthPx, heightPx int, scale float64) image.Image {
	w, h, dpi := onScreen(widthPx, heightPx, scale)
	return f.raster(w, h, dpi, f.pages[:1])
}

// onScreen returns the size and the dots an inch that give so many pixels.
func onScreen(widthPx, heightPx int, scale float64) (w, h float64, dpi int) {
	if !(scale >= 0.25 && scale <= 16) {
		scale = 1
	}
	dpi = int(math.Round(72 * scale))
	length := func(px int) float64 { return float64(min(max(px, 1), maxPixels)) * inch / float64(dpi) }
	return length(widthPx), length(heightPx), dpi
}

func (f *Figure) raster(w, h float64, dpi int, pages []func(pen)) image.Image {
	c := kerned{vgimg.NewWith(vgimg.UseWH(vg.Length(w), vg.Length(h)), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(f.background))}
	f.draw(c, w, h, pages)
	return c.Image()
}

// kerned is a picture whose letters stand as far apart as the font has them. The library
// moves a pair such as 11 or Te together by as many pixels at every size, which are too many
// for small letters: here a text is drawn in parts in which no pair is moved.
type kerned struct{ *vgimg.Canvas }

// FillString implements vg.Canvas.
func (k kerned) FillString(face font.Face, at vg.Point, s string) {
	from, before := 0, ""
	part := func(to int) {
		k.Canvas.FillString(face, vg.Point{X: at.X + face.Width(s[:to]) - face.Width(s[from:to]), Y: at.Y}, s[from:to])
	}
	for i, r := range s {
		letter := string(r)
		if math.Abs(float64(face.Width(before+letter)-face.Width(before)-face.Width(letter))) > 1e-6 {
			part(i)
			from = i
		}
		before = letter
	}
	part(len(s))
}

// draw draws pages below each other.
func (f *Figure) draw(c vg.Canvas, w, h float64, pages []func(pen)) {
	all := penOn(draw.NewCanvas(c, vg.Length(w), vg.Length(h)))
	all.Box(f.background, 0, 0, w, h)
	each := h / float64(len(pages))
	if w < minWidth || each < minHeight {
		return
	}
	for i, paint := range pages {
		above := each * float64(i)
		paint(all.crop(0, 0, h-above-each, above))
	}
}

// WriteTo writes the figure at its page size; format is "png" (200 dots an
// inch), "svg", "pdf", or "csv" where the figure is a table. A PDF has a page for each;
// in a PNG or SVG they lie below each other, in a PNG ten at most. Nothing is written unless all of it was drawn.
func (f *Figure) WriteTo(w io.Writer, format string) error {
	data, err := f.encode(format)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

func (f *Figure) encode(format string) (data []byte, err error) {
	var buf bytes.Buffer
	height := f.height * float64(len(f.pages))
	switch {
	case format == "png" && len(f.pages) > mostInPNG:
		return nil, i18n.Errorf("it has %d pages, too many for one picture: save it as .pdf", len(f.pages))
	case format == "png":
		err = png.Encode(&buf, f.raster(f.width, height, paperDPI, f.pages))
	case format == "svg":
		c := vgsvg.New(vg.Length(f.width), vg.Length(height))
		f.draw(c, f.width, height, f.pages)
		_, err = c.WriteTo(&buf)
		return faces().withFallbackFonts(buf.Bytes()), err
	case format == "pdf":
		c := &pdfCanvas{Canvas: vgpdf.New(vg.Length(f.width), vg.Length(f.height))}
		for i := range f.pages {
			if i > 0 {
				c.NextPage()
				vg.Initialize(c)
			}
			f.draw(c, f.width, f.height, f.pages[i:i+1])
		}
		_, err = c.WriteTo(&buf)
	case format == "csv" && f.table != nil:
		return f.table, nil
	case format == "":
		return nil, i18n.Errorf("the format is missing; %s", f.formats())
	default:
		return nil, i18n.Errorf("the format %q is unknown; %s", format, f.formats())
	}
	return buf.Bytes(), err
}

// formats says which formats the figure can be saved in.
func (f *Figure) formats() string {
	if f.table != nil {
		return i18n.L("use .png, .svg, .pdf or .csv")
	}
	return i18n.L("use .png, .svg or .pdf")
}

// Theme holds the colours of a figure; package sketch says what each means. Every
// mark also differs in shape or carries a word.
type Theme = sketch.Inks

// inks are the colours of what is printed.
var inks = sketch.OnPaper()

// Paper is the sheet that a figure is printed on; none counts as A5.
type Paper string

// A5 and A4 are sizes of ISO 216; Letter is the North American one.
const (
	A5     Paper = "A5"
	A4     Paper = "A4"
	Letter Paper = "Letter"
)

// PaperNamed returns the paper of a name, upper and lower case alike, or an error for one
// that is unknown.
func PaperNamed(name string) (Paper, error) {
	for _, p := range []Paper{A5, A4, Letter} {
		if strings.EqualFold(name, string(p)) {
			return p, nil
		}
	}
	return "", i18n.Errorf("the paper %q is unknown; use %s, %s or %s", clean(name), A5, A4, Letter)
}

// size returns the short and the long side: ISO 216 (A series) and ANSI/ASME Y14.1 (letter,
// 8.5 by 11 inches), values from memory.
func (p Paper) size() (short, long float64) {
	switch p {
	case A4:
		return 210 * mm, 297 * mm
	case Letter:
		return 8.5 * inch, 11 * inch
	}
	return 148 * mm, 210 * mm
}

// unit is 1 on A5 and larger on larger paper, as its words are.
func (p Paper) unit() float64 {
	short, _ := p.size()
	return short / (148 * mm)
}

// upright is a printed figure of upright pages.
func (p Paper) upright(pages ...func(pen)) *Figure {
	short, long := p.size()
	return printed(short, long, pages...)
}

// onSide is one of pages on their side.
func (p Paper) onSide(pages ...func(pen)) *Figure {
	short, long := p.size()
	return printed(long, short, pages...)
}

// paged is a figure of pages on their side that is a table too; without any it says why.
func (p Paper) paged(title, none string, table []byte, pages []func(pen)) *Figure {
	if len(pages) == 0 {
		pages = append(pages, func(p pen) { p.headed(title, "", "").says(none) })
	}
	f := p.onSide(pages...)
	f.table = table
	return f
}

func printed(width, height float64, pages ...func(pen)) *Figure {
	return &Figure{width: width, height: height, background: inks.Paper, pages: pages}
}

// Save writes the figure to path, whole or not at all, in the format of the path's
// extension.
func (f *Figure) Save(path string) error {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return i18n.Errorf("cannot save the figure as %s, which is a folder: name a file in it, such as %s", path, filepath.Join(path, "figure.png"))
	}
	data, err := f.encode(formatOf(path))
	if err != nil {
		return i18n.Errorf("cannot save the figure as %s: %w", path, err)
	}
	if err := save(path, data); err != nil {
		return i18n.Errorf("cannot save the figure as %s: check that its folder is there, may be written to and has room: %w", path, err)
	}
	return nil
}

func formatOf(path string) string {
	return strings.ToLower(strings.TrimPrefix(filepath.Ext(path), "."))
}

// save writes one file.
func save(path string, data []byte) error {
	err := atomicfile.Write(path, atomicfile.Bytes(data))
	if place := new(fs.PathError); errors.As(err, &place) { // it names a hidden file of ours
		return place.Err
	}
	return err
}
