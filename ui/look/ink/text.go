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
	return shared.set(typeKey{s, res.Name(), int(math.Round(size * p.Scale * 64))}, res)
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
// every frame would cost more than all the rest of the picture.
type foundry struct {
	mu    sync.Mutex
	fonts map[string]*opentype.Font
	faces map[typeKey]font.Face
	texts map[typeKey]*typeset
}

// shared serves every pen: labels recur between widgets.
var shared = foundry{
	fonts: map[string]*opentype.Font{},
	faces: map[typeKey]font.Face{},
	texts: map[typeKey]*typeset{},
}

// keepTexts and keepFaces bound the foundry's memory; a full store starts afresh.
const (
	keepTexts = 2000
	keepFaces = 40
)

func (f *foundry) set(key typeKey, res fyne.Resource) *typeset {
	f.mu.Lock()
	defer f.mu.Unlock()
	if t, ok := f.texts[key]; ok {
		return t
	}
	face := f.face(key, res)
	if face == nil {
		return nil
	}
	if len(f.texts) >= keepTexts {
		clear(f.texts)
	}
	t := compose(face, legible(face, key.text))
	f.texts[key] = t
	return t
}

// face returns the font at one size, or nil when it cannot be parsed.
func (f *foundry) face(key typeKey, res fyne.Resource) font.Face {
	key.text = ""
	if face, ok := f.faces[key]; ok {
		return face
	}
	parsed, ok := f.fonts[key.font]
	if !ok {
		parsed, _ = opentype.Parse(res.Content()) // nil for a bad font: no text rather than no picture
		f.fonts[key.font] = parsed
	}
	if parsed == nil {
		return nil
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: float64(key.size) / 64, DPI: 72})
	if err != nil {
		return nil
	}
	if len(f.faces) >= keepFaces {
		clear(f.faces)
	}
	f.faces[key] = face
	return face
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
