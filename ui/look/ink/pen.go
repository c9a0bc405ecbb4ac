package ink

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"fyne.io/fyne/v2"
	"golang.org/x/image/vector"

	"lagwright/plotting/sketch"
)

// Pen draws on an image; what it draws is package sketch's.
type Pen struct {
	sketch.Pen
	*Sheet
}

// On returns a pen on an image with so many device pixels to a device-independent
// one, lettered in a theme's fonts.
func On(img *image.RGBA, scale float64, th fyne.Theme) *Pen {
	s := &Sheet{Img: img, Scale: scale, Theme: th}
	return &Pen{sketch.Pen{Surface: s}, s}
}

// Sheet is an image as a surface. Coordinates and widths are in device-independent
// pixels; whatever falls outside the image is cut off.
type Sheet struct {
	Img   *image.RGBA
	Scale float64    // device pixels to one device-independent pixel
	Theme fyne.Theme // where fonts come from

	raster vector.Rasterizer
	source image.Uniform
}

var _ sketch.Surface = (*Sheet)(nil)

// Size returns the image's size in device-independent pixels.
func (p *Sheet) Size() (w, h float64) {
	return float64(p.Img.Rect.Dx()) / p.Scale, float64(p.Img.Rect.Dy()) / p.Scale
}

// Grain is a device pixel.
func (p *Sheet) Grain() float64 { return 1 / p.Scale }

// Clear covers the whole image with c, transparency included.
func (p *Sheet) Clear(c color.Color) {
	p.source.C = c
	draw.Draw(p.Img, p.Img.Rect, &p.source, image.Point{}, draw.Src)
}

// Box fills the rectangle from (x0, y0) to (x1, y1), its edges moved to whole
// device pixels. It is never thinner than one.
func (p *Sheet) Box(c color.Color, x0, y0, x1, y1 float64) {
	r := image.Rect(p.snap(x0), p.snap(y0), p.snap(x1), p.snap(y1))
	if r.Dx() == 0 {
		r.Max.X++
	}
	if r.Dy() == 0 {
		r.Max.Y++
	}
	p.source.C = c
	draw.Draw(p.Img, r, &p.source, image.Point{}, draw.Over)
}

// snap returns the nearest whole device pixel, kept within what an image can
// have so that far-off coordinates do not overflow.
func (p *Sheet) snap(v float64) int {
	const far = 1 << 20
	return int(math.Round(min(far, max(-far, v*p.Scale))))
}

// Shape fills the polygons with smooth edges. Where one polygon runs the other
// way round inside another it cuts a hole.
func (p *Sheet) Shape(c color.Color, polygons ...[]sketch.Pt) {
	box := p.bounds(polygons)
	if box.Empty() {
		return
	}
	p.raster.Reset(box.Dx(), box.Dy())
	for _, poly := range polygons {
		p.trace(poly, box.Min)
	}
	p.source.C = c
	p.raster.Draw(p.Img, box, &p.source, image.Point{})
}

// trace feeds one polygon to the rasteriser.
func (p *Sheet) trace(poly []sketch.Pt, origin image.Point) {
	for i, pt := range poly {
		x := float32(pt.X*p.Scale - float64(origin.X))
		y := float32(pt.Y*p.Scale - float64(origin.Y))
		if i == 0 {
			p.raster.MoveTo(x, y)
		} else {
			p.raster.LineTo(x, y)
		}
	}
	p.raster.ClosePath()
}

// bounds returns the device pixels that the polygons touch within the image;
// none where a coordinate is not a number.
func (p *Sheet) bounds(polygons [][]sketch.Pt) image.Rectangle {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, poly := range polygons {
		for _, pt := range poly {
			if math.IsNaN(pt.X) || math.IsNaN(pt.Y) {
				return image.Rectangle{}
			}
			x0, x1 = min(x0, pt.X), max(x1, pt.X)
			y0, y1 = min(y0, pt.Y), max(y1, pt.Y)
		}
	}
	if x0 > x1 {
		return image.Rectangle{}
	}
	half := 0.5 / p.Scale
	r := image.Rect(p.snap(x0-half), p.snap(y0-half), p.snap(x1+half), p.snap(y1+half))
	return r.Intersect(p.Img.Rect)
}
