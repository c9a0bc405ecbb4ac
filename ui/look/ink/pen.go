package ink

import (
	"image"
	"image/color"
	"image/draw"
	"math"

	"fyne.io/fyne/v2"
	"golang.org/x/image/vector"
)

// Pt is a point in device-independent pixels, y downwards.
type Pt struct{ X, Y float64 }

// Pen draws on one image. Coordinates and widths are in device-independent
// pixels; whatever falls outside the image is cut off.
type Pen struct {
	Img   *image.RGBA
	Scale float64    // device pixels to one device-independent pixel
	Theme fyne.Theme // where fonts come from

	raster vector.Rasterizer
	source image.Uniform
}

// Size returns the image's size in device-independent pixels.
func (p *Pen) Size() (w, h float64) {
	return float64(p.Img.Rect.Dx()) / p.Scale, float64(p.Img.Rect.Dy()) / p.Scale
}

// Clear covers the whole image with c, transparency included.
func (p *Pen) Clear(c color.Color) {
	p.source.C = c
	draw.Draw(p.Img, p.Img.Rect, &p.source, image.Point{}, draw.Src)
}

// Box fills the rectangle from (x0, y0) to (x1, y1), its edges moved to whole
// device pixels. It is never thinner than one.
func (p *Pen) Box(c color.Color, x0, y0, x1, y1 float64) {
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

// Upright draws a crisp vertical line of the given width centred on x.
func (p *Pen) Upright(c color.Color, x, y0, y1, width float64) {
	left, wide := p.rule(x, width)
	p.source.C = c
	draw.Draw(p.Img, image.Rect(left, p.snap(y0), left+wide, p.snap(y1)), &p.source, image.Point{}, draw.Over)
}

// Level draws a crisp horizontal line of the given width centred on y.
func (p *Pen) Level(c color.Color, x0, x1, y, width float64) {
	top, wide := p.rule(y, width)
	p.source.C = c
	draw.Draw(p.Img, image.Rect(p.snap(x0), top, p.snap(x1), top+wide), &p.source, image.Point{}, draw.Over)
}

// rule returns the first device pixel and the count of a line centred on at.
func (p *Pen) rule(at, width float64) (first, count int) {
	count = max(1, p.snap(width))
	return int(math.Round(at*p.Scale - float64(count)/2)), count
}

// snap returns the nearest whole device pixel, kept within what an image can
// have so that far-off coordinates do not overflow.
func (p *Pen) snap(v float64) int {
	const far = 1 << 20
	return int(math.Round(min(far, max(-far, v*p.Scale))))
}

// Shape fills the polygons with smooth edges. Where one polygon runs the other
// way round inside another it cuts a hole.
func (p *Pen) Shape(c color.Color, polygons ...[]Pt) {
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
func (p *Pen) trace(poly []Pt, origin image.Point) {
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
func (p *Pen) bounds(polygons [][]Pt) image.Rectangle {
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

// Line strokes the points with butt ends and a smooth edge.
func (p *Pen) Line(c color.Color, width float64, pts ...Pt) {
	for i := 1; i < len(pts); i++ {
		if quad := segment(pts[i-1], pts[i], width); quad != nil {
			p.Shape(c, quad)
		}
	}
}

// Dashes strokes the straight line from a to b in dashes of the given length,
// with gaps as long.
func (p *Pen) Dashes(c color.Color, width, dash float64, a, b Pt) {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length == 0 || dash <= 0 {
		return
	}
	ux, uy := (b.X-a.X)/length, (b.Y-a.Y)/length
	for at := 0.0; at < length; at += 2 * dash {
		end := min(length, at+dash)
		p.Line(c, width, Pt{a.X + ux*at, a.Y + uy*at}, Pt{a.X + ux*end, a.Y + uy*end})
	}
}

// segment returns the rectangle that strokes a to b, or nil for no length.
func segment(a, b Pt, width float64) []Pt {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length == 0 {
		return nil
	}
	nx, ny := -(b.Y-a.Y)/length*width/2, (b.X-a.X)/length*width/2
	return []Pt{{a.X + nx, a.Y + ny}, {b.X + nx, b.Y + ny}, {b.X - nx, b.Y - ny}, {a.X - nx, a.Y - ny}}
}
