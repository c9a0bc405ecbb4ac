package ink

import (
	"encoding/binary"
	"image"
	"image/color"
	"image/draw"
	"math"
	"strings"
	"sync"

	"fyne.io/fyne/v2"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
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
	bars   []int // how high each is
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

// Bars fills each column of device pixels from foot as far as its height says, down or all
// up, with a colour that nothing shines through. It goes row by row, as the image lies in
// memory: as many boxes would take far longer.
func (p *Sheet) Bars(c color.Color, foot float64, heights []float64) {
	red, green, blue, _ := c.RGBA()
	word, y, way, most := red>>8|green>>8<<8|blue>>8<<16|0xff<<24, p.snap(foot), 1, 0
	p.bars = p.bars[:0]
	for _, h := range heights[:min(len(heights), p.Img.Rect.Dx())] {
		high := p.snap(foot+h) - y
		if high < 0 {
			high, way = -high, -1
		}
		p.bars, most = append(p.bars, high), max(most, high)
	}
	if way < 0 {
		y--
	}
	for row := 0; row < most && y >= 0 && y < p.Img.Rect.Dy(); row, y = row+1, y+way {
		pixels := p.Img.Pix[y*p.Img.Stride:]
		for x, high := range p.bars {
			if high > row {
				binary.LittleEndian.PutUint32(pixels[4*x:], word)
			}
		}
	}
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

// Text draws s in one line, size in device-independent pixels, vertically
// centred on y, and returns its width. The theme's font is used without
// fallback to other fonts.
func (p *Sheet) Text(c color.Color, x, y float64, align sketch.Align, size float64, bold bool, s string) float64 {
	m := p.setting(s, size, bold)
	if m == nil {
		return 0
	}
	left := x * p.Scale
	switch align {
	case sketch.Centre:
		left -= m.width / 2
	case sketch.Right:
		left -= m.width
	}
	top := y*p.Scale - m.height/2
	at := m.mask.Rect.Add(image.Pt(int(math.Round(left)), int(math.Round(top))))
	p.source.C = c
	draw.DrawMask(p.Img, at, &p.source, image.Point{}, m.mask, m.mask.Rect.Min, draw.Over)
	return m.width / p.Scale
}

// TextWidth returns how wide [Pen.Text] draws s, in device-independent pixels.
func (p *Sheet) TextWidth(size float64, bold bool, s string) float64 {
	if m := p.setting(s, size, bold); m != nil {
		return m.width / p.Scale
	}
	return 0
}

// setting returns s set in type at the pen's scale, or nil when there is nothing
// to see or the font cannot be read.
func (p *Sheet) setting(s string, size float64, bold bool) *typeset {
	res := p.Theme.Font(fyne.TextStyle{Bold: bold})
	if s == "" || res == nil || size <= 0 {
		return nil
	}
	return set(typeKey{s, res.Name(), int(math.Round(size * p.Scale * 64))}, res)
}

// typeKey names one text in one font at one size in 1/64 device pixels.
type typeKey struct {
	text, font string
	size       int
}

// typeset is a text as coverage; the mask's origin is the top left of its line.
type typeset struct {
	mask          *image.Alpha
	width, height float64 // device pixels
}

// foundry keeps fonts and set texts, since setting the same few labels anew for
// every frame would cost more than all the rest of the picture. It serves every pen:
// labels recur between widgets.
var foundry = struct {
	sync.Mutex
	fonts map[string]*opentype.Font
	faces map[typeKey]font.Face
	texts map[typeKey]*typeset
}{fonts: map[string]*opentype.Font{}, faces: map[typeKey]font.Face{}, texts: map[typeKey]*typeset{}}

// kept returns what a store has for a key, made where it has nothing yet; a full one
// starts afresh.
func kept[K comparable, V any](store map[K]V, most int, key K, made func() V) V {
	v, ok := store[key]
	if !ok {
		if len(store) >= most {
			clear(store)
		}
		v = made()
		store[key] = v
	}
	return v
}

// set returns a text set in type, or nil where the font cannot be read: no text rather
// than no picture.
func set(key typeKey, res fyne.Resource) *typeset {
	foundry.Lock()
	defer foundry.Unlock()
	return kept(foundry.texts, 2000, key, func() *typeset {
		size := typeKey{font: key.font, size: key.size}
		face := kept(foundry.faces, 40, size, func() font.Face {
			parsed := kept(foundry.fonts, 40, key.font, func() *opentype.Font {
				parsed, _ := opentype.Parse(res.Content())
				return parsed
			})
			if parsed == nil {
				return nil
			}
			face, _ := opentype.NewFace(parsed, &opentype.FaceOptions{Size: float64(key.size) / 64, DPI: 72})
			return kerned{face, parsed, fixed.Int26_6(key.size)}
		})
		if face == nil {
			return nil
		}
		return compose(face, legible(face, key.text))
	})
}

// kerned moves pairs such as 11 or Te together as far as the font says for its size; the
// library's own face does so by as many pixels at every size.
type kerned struct {
	font.Face
	of   *opentype.Font
	size fixed.Int26_6 // of an em, in pixels
}

// Kern implements font.Face.
func (k kerned) Kern(a, b rune) fixed.Int26_6 {
	first, _ := k.of.GlyphIndex(nil, a)
	second, _ := k.of.GlyphIndex(nil, b)
	by, _ := k.of.Kern(nil, first, second, k.size, font.HintingNone) // 0 where it says nothing
	return by
}

// compose draws the text once as coverage, with a pixel to spare on each side
// for glyphs that lean out of their advance.
func compose(face font.Face, s string) *typeset {
	m := face.Metrics()
	width := font.MeasureString(face, s)
	height := m.Ascent + m.Descent
	mask := image.NewAlpha(image.Rect(-1, 0, width.Ceil()+1, height.Ceil()))
	d := font.Drawer{
		Dst:  mask,
		Src:  image.Opaque,
		Face: face,
		Dot:  fixed.Point26_6{Y: fixed.I(m.Ascent.Round())},
	}
	d.DrawString(s)
	return &typeset{mask: mask, width: float64(width) / 64, height: float64(height) / 64}
}

// legible swaps a true minus sign for an en dash in fonts that lack it.
func legible(face font.Face, s string) string {
	if _, ok := face.GlyphAdvance('−'); ok {
		return s
	}
	return strings.ReplaceAll(s, "−", "–")
}
