package plotting

import (
	"image"
	"slices"

	"gonum.org/v1/plot/vg/draw"
)

// Stamp is a curve as small as a stamp, on the axes of the large one and without
// words. Its zero value has no takes. It is immutable.
type Stamp struct{ curve *curveView }

// Stamp returns the curve as a stamp. It keeps what it draws and no more: a list may hold
// hundreds of stamps.
func (c Curve) Stamp() Stamp {
	v := c.view(Theme{})
	v.laws = slices.Clone(slices.DeleteFunc(v.laws, func(l sampledLaw) bool { return !l.current }))
	return Stamp{v}
}

// Image draws the stamp on w by h device pixels, as Figure.Image does: the tolerance,
// the law where the plate stands, and the takes, tight ones filled.
func (s Stamp) Image(t Theme, w, h int, scale float64) image.Image {
	f := Figure{background: t.Paper, pages: []func(pen){func(p pen) { s.paint(p, t) }}}
	return f.Image(w, h, scale)
}

const stampSize = 10 // of small text, were there any: the size of marks goes by it

func (s Stamp) paint(p pen, t Theme) {
	if s.curve == nil || len(s.curve.takes) == 0 {
		p.line(t.Grid, 1.5, p.Min.X+10, p.Center().Y, p.Max.X-10, p.Center().Y, 5)
		return
	}
	v := *s.curve
	v.theme = t
	c := &curvePainter{curveView: &v, base: stampSize}
	c.on(p.Canvas, axes(t, v.tempos, v.lag, p.Size(), stampSize, false))
	c.fillRect(t.Zone(), c.Min.X, c.y(-v.tolerance), c.Max.X, c.y(v.tolerance))
	c.line(t.Grid, 1, c.Min.X, c.y(0), c.Max.X, c.y(0))
	for _, law := range v.laws {
		line, _ := c.lawPoints(law)
		c.StrokeLines(draw.LineStyle{Color: t.Quiet, Width: 1.5}, c.ClipLinesXY(line)...)
	}
	for _, take := range v.takes {
		take.Current = false // no halo
		c.take(take)
	}
}
