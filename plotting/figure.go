package plotting

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgpdf"
	"gonum.org/v1/plot/vg/vgsvg"

	"lagwright/calib/i18n"
)

const (
	mm       = vg.Millimeter
	paperDPI = 200

	maxPixels = 8192 // a side; larger requests are cut down to it
	mostInPNG = 10   // pages; of A4 each takes 15 MB while it is drawn
	// Below this size, in points, a figure is a plain field of background.
	minWidth, minHeight = vg.Length(48), vg.Length(36)
)

// Figure is a finished drawing that fits itself to any size. It is immutable
// and safe for use by several goroutines at once.
type Figure struct {
	width, height vg.Length // of a page on paper
	background    color.NRGBA
	pages         []func(pen)              // each draws into the pen's rectangle, background already filled
	table         []byte                   // the same as CSV; nil = none
	near          func(pen, vg.Point) Near // what is drawn near a point; nil = nothing that is picked
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
func onScreen(widthPx, heightPx int, scale float64) (w, h vg.Length, dpi int) {
	if !(scale >= 0.25 && scale <= 16) {
		scale = 1
	}
	dpi = int(math.Round(72 * scale))
	length := func(px int) vg.Length { return vg.Length(min(max(px, 1), maxPixels)) * vg.Inch / vg.Length(dpi) }
	return length(widthPx), length(heightPx), dpi
}

func (f *Figure) raster(w, h vg.Length, dpi int, pages []func(pen)) image.Image {
	c := vgimg.NewWith(vgimg.UseWH(w, h), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(f.background))
	f.draw(c, w, h, pages)
	return c.Image()
}

// draw draws pages below each other.
func (f *Figure) draw(c vg.Canvas, w, h vg.Length, pages []func(pen)) {
	all := pen{draw.NewCanvas(c, w, h)}
	all.fillRect(f.background, 0, 0, w, h)
	each := h / vg.Length(len(pages))
	if w < minWidth || each < minHeight {
		return
	}
	for i, paint := range pages {
		above := each * vg.Length(i)
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
	height := f.height * vg.Length(len(f.pages))
	switch {
	case format == "png" && len(f.pages) > mostInPNG:
		return nil, i18n.Errorf("it has %d pages, too many for one picture: save it as .pdf", len(f.pages))
	case format == "png":
		err = png.Encode(&buf, f.raster(f.width, height, paperDPI, f.pages))
	case format == "svg":
		c := vgsvg.New(f.width, height)
		f.draw(c, f.width, height, f.pages)
		_, err = c.WriteTo(&buf)
		return faces().withFallbackFonts(buf.Bytes()), err
	case format == "pdf":
		c := &pdfCanvas{Canvas: vgpdf.New(f.width, f.height)}
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
