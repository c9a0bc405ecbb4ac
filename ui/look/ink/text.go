package ink

import (
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

	"lagwright/plotting/sketch"
)

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
			return face
		})
		if face == nil {
			return nil
		}
		return compose(face, legible(face, key.text))
	})
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
