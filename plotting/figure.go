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
	// Below this size, in points, a figure is a plain field of background.
	minWidth, minHeight = vg.Length(48), vg.Length(36)
)

// Figure is a finished drawing that fits itself to any size. It is immutable
// and safe for use by several goroutines at once.
type Figure struct {
	width, height vg.Length // the page on paper
	background    color.NRGBA
	page          bool                            // keeps its page's proportions on screen
	paint         []func(pen)                     // a page each: draws into the pen's rectangle, background already filled
	table         []byte                          // the same as CSV; nil = none
	song          func(pen, vg.Point) (int, bool) // the song drawn at a point; nil = there are none
}

// Pages returns the figure page by page, each a figure of one page.
func (f *Figure) Pages() []*Figure {
	pages := make([]*Figure, len(f.paint))
	for i := range pages {
		page := *f
		page.paint = f.paint[i : i+1]
		pages[i] = &page
	}
	return pages
}

// Image draws the figure on widthPx by heightPx device pixels. Scale is the
// number of device pixels to a device-independent one (1 on a plain screen, 2
// on a HiDPI one), so that text keeps its size. Sizes below one pixel give one
// pixel, sizes above 8192 give 8192, a scale that makes no sense counts as 1. A
// setting card is a page: it fills the pixels as far as its proportions allow,
// whatever the scale. Of a figure of several pages it draws the first.
func (f *Figure) Image(widthPx, heightPx int, scale float64) image.Image {
	return f.raster(f.onScreen(widthPx, heightPx, scale))
}

// onScreen returns the size and the dots an inch that give so many pixels.
func (f *Figure) onScreen(widthPx, heightPx int, scale float64) (w, h vg.Length, dpi int) {
	widthPx, heightPx = min(max(widthPx, 1), maxPixels), min(max(heightPx, 1), maxPixels)
	if !(scale >= 0.25 && scale <= 16) {
		scale = 1
	}
	dpi = int(math.Round(72 * scale))
	if f.page {
		dpi = max(int(72*min(float64(widthPx)/float64(f.width), float64(heightPx)/float64(f.height))), 1)
	}
	perPixel := vg.Inch / vg.Length(dpi)
	return vg.Length(widthPx) * perPixel, vg.Length(heightPx) * perPixel, dpi
}

func (f *Figure) raster(w, h vg.Length, dpi int) image.Image {
	c := vgimg.NewWith(vgimg.UseWH(w, h), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(f.background))
	f.drawOn(draw.NewCanvas(c, w, h), 0)
	return c.Image()
}

func (f *Figure) drawOn(c draw.Canvas, page int) {
	c.SetColor(f.background)
	c.Fill(c.Rectangle.Path())
	size := c.Size()
	if size.X < minWidth || size.Y < minHeight {
		return
	}
	if f.page {
		c = draw.Crop(c, (size.X-f.width)/2, -(size.X-f.width)/2, (size.Y-f.height)/2, -(size.Y-f.height)/2)
	}
	f.paint[page](pen{c})
}

// WriteTo writes the figure at its page size; format is "png" (200 dots an
// inch), "svg", "pdf", or "csv" where the figure is a table. A PDF holds all
// pages, a PNG or SVG the first. Nothing is written unless all of it was drawn.
func (f *Figure) WriteTo(w io.Writer, format string) error {
	data, err := f.encode(format)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

func (f *Figure) encode(format string) ([]byte, error) {
	switch {
	case format == "png":
		var buf bytes.Buffer
		err := png.Encode(&buf, f.raster(f.width, f.height, paperDPI))
		return buf.Bytes(), err
	case format == "svg":
		return f.svg()
	case format == "pdf":
		return f.pdf()
	case format == "csv" && f.table != nil:
		return f.table, nil
	case format == "":
		return nil, i18n.Errorf("the format is missing; %s", f.formats())
	}
	return nil, i18n.Errorf("the format %q is unknown; %s", format, f.formats())
}

// formats says which formats the figure can be saved in.
func (f *Figure) formats() string {
	if f.table != nil {
		return i18n.L("use .png, .svg, .pdf or .csv")
	}
	return i18n.L("use .png, .svg or .pdf")
}

func (f *Figure) svg() ([]byte, error) {
	var buf bytes.Buffer
	c := vgsvg.New(f.width, f.height)
	f.drawOn(draw.NewCanvas(c, f.width, f.height), 0)
	_, err := c.WriteTo(&buf)
	return faces().withFallbackFonts(buf.Bytes()), err
}

func (f *Figure) pdf() ([]byte, error) {
	var buf bytes.Buffer
	c := &pdfCanvas{Canvas: vgpdf.New(f.width, f.height)}
	for page := range f.paint {
		if page > 0 {
			c.NextPage()
			vg.Initialize(c)
		}
		f.drawOn(draw.NewCanvas(c, f.width, f.height), page)
	}
	_, err := c.WriteTo(&buf)
	return buf.Bytes(), err
}
