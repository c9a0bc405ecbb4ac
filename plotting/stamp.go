package plotting

import (
	"image"
	"slices"
)

// Stamp is a curve as small as a stamp, on the axes of the large one and without
// words. Its zero value has no takes. It is immutable.
type Stamp struct{ curve *curveView }

// Stamp returns the curve as a stamp. It keeps what it draws and no more: a list may hold
// hundreds of stamps.
func (c Curve) Stamp() Stamp {
	v := c.view(Theme{})
	v.hits, v.rows = nil, span{} // it has no room for rows
	v.laws = slices.Clone(slices.DeleteFunc(v.laws, func(l sampledLaw) bool { return !l.current }))
	for i := range v.laws {
		points := v.laws[i].points
		ends := func(p lawPoint) bool { return p == points[0] || p == points[len(points)-1] }
		v.laws[i].points = slices.Clip(evenly(points, stampSamples, ends))
	}
	return Stamp{v}
}

// Image draws the stamp on w by h device pixels, as Figure.Image does: the tolerance,
// the law where the plate stands, and the takes, tight ones filled.
func (s Stamp) Image(t Theme, w, h int, scale float64) image.Image {
	f := Figure{background: t.Paper, pages: []func(pen){func(p pen) { s.paint(p, t) }}}
	return f.Image(w, h, scale)
}

const stampSamples = 32 // of a law: a few pixels apart

const stampSize = 10 // of small text, were there any: the size of marks goes by it

func (s Stamp) paint(p pen, t Theme) {
	if s.curve == nil || len(s.curve.takes) == 0 {
		p.line(t.Grid, 1.5, 10, p.h/2, p.w-10, p.h/2, 5)
		return
	}
	v := *s.curve
	v.theme = t
	c := &curvePainter{curveView: &v, base: stampSize}
	c.on(frame{p, axis{span: v.tempos}, axis{span: v.lag}})
	c.Box(t.Zone(), 0, c.y(v.tolerance), c.w, c.y(-v.tolerance))
	c.line(t.Grid, 1, 0, c.y(0), c.w, c.y(0))
	for _, law := range v.laws {
		line, _ := c.lawPoints(law)
		c.stroke(t.Quiet, 1.5, nil, line)
	}
	for _, take := range v.takes {
		take.Current = false // no halo
		c.take(take)
	}
}
