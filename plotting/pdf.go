package plotting

import (
	"image/color"
	"strings"

	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/encoding/charmap"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgpdf"
)

// pdfCanvas mends what vgpdf (gonum/plot v0.17.0) does with bold faces, with
// characters beyond ASCII and with translucent colours.
type pdfCanvas struct {
	*vgpdf.Canvas
	color color.Color
}

// straight is a colour whose components are not multiplied by alpha, which is
// what PDF wants and vgpdf forgets to undo.
type straight struct{ color.NRGBA64 }

func (s straight) RGBA() (r, g, b, a uint32) {
	return uint32(s.R), uint32(s.G), uint32(s.B), uint32(s.A)
}

func (c *pdfCanvas) SetColor(clr color.Color) {
	if clr == nil {
		clr = color.Black
	}
	c.color = clr
	c.Canvas.SetColor(straight{color.NRGBA64Model.Convert(clr).(color.NRGBA64)})
}

// FillString writes text in the PDF's one-byte code page, so that it can be
// searched and copied. Bold text, and all text in a chosen font, is drawn as
// outlines over invisible regular text, because a PDF of vgpdf holds one font file
// whatever the faces, TrueType and whole; text with characters outside the code
// page is outlines alone.
func (c *pdfCanvas) FillString(f font.Face, pt vg.Point, s string) {
	encoded, err := charmap.Windows1252.NewEncoder().String(strings.ReplaceAll(s, minus, "–"))
	if err == nil && f.Font.Weight != xfont.WeightBold && faces() == usual() {
		c.fillRegular(f.Font.Size, pt, encoded)
		return
	}
	c.fillOutlines(f, pt, s)
	if err != nil {
		return
	}
	visible := c.color
	c.SetColor(color.Transparent)
	c.fillRegular(f.Font.Size, pt, encoded)
	c.SetColor(visible)
}

// fillRegular writes text in the regular face. It scales one size of it to all
// others, because vgpdf prepares a font anew for every size, 20 ms each.
func (c *pdfCanvas) fillRegular(size vg.Length, pt vg.Point, encoded string) {
	const prepared = 12
	c.Push()
	defer c.Pop()
	c.Translate(pt)
	c.Scale(float64(size/prepared), float64(size/prepared))
	c.Canvas.FillString(usual().cache.Lookup(usual().of, prepared), vg.Point{}, encoded)
}

func (c *pdfCanvas) fillOutlines(f font.Face, pt vg.Point, s string) {
	var buf sfnt.Buffer
	em := fixed.Int26_6(f.Face.UnitsPerEm())
	unit := f.Font.Size / vg.Length(em)
	for _, r := range s {
		glyph, err := f.Face.GlyphIndex(&buf, r)
		if err != nil {
			continue
		}
		segments, err := f.Face.LoadGlyph(&buf, glyph, em, nil)
		if err != nil {
			continue
		}
		if len(segments) > 0 { // a space has none
			c.Fill(outline(segments, pt, unit))
		}
		if advance, err := f.Face.GlyphAdvance(&buf, glyph, em, xfont.HintingNone); err == nil {
			pt.X += vg.Length(advance) * unit
		}
	}
}

// outline turns a glyph's segments, y downward, into a path at pt, y upward.
func outline(segments sfnt.Segments, pt vg.Point, unit vg.Length) vg.Path {
	at := func(p fixed.Point26_6) vg.Point {
		return vg.Point{X: pt.X + vg.Length(p.X)*unit, Y: pt.Y - vg.Length(p.Y)*unit}
	}
	var path vg.Path
	for _, s := range segments {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			path.Move(at(s.Args[0]))
		case sfnt.SegmentOpLineTo:
			path.Line(at(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			path.QuadTo(at(s.Args[0]), at(s.Args[1]))
		case sfnt.SegmentOpCubeTo:
			path.CubeTo(at(s.Args[0]), at(s.Args[1]), at(s.Args[2]))
		}
	}
	path.Close()
	return path
}
