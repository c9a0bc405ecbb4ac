package plotting

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"
)

// pickReach is how far from a song's bar or point, or from a take, a click still means it,
// in base sizes.
const pickReach = 1.6

// Near is what is drawn near a place of a curve.
type Near struct {
	Song  int    // its index in the curve; -1 = none
	Take  int    // its id; 0 = none
	Voice string // of the take
}

// Near returns the song and the take that are drawn nearest to a pixel of the picture that
// Image draws with the same size and scale, counted from the top left.
func (f *Figure) Near(widthPx, heightPx int, scale, x, y float64) Near {
	none := Near{Song: -1}
	if f.near == nil || widthPx < 1 || heightPx < 1 {
		return none
	}
	w, h, dpi := onScreen(widthPx, heightPx, scale)
	if w < minWidth || h < minHeight {
		return none
	}
	perPixel := vg.Inch / vg.Length(dpi)
	at := vg.Point{X: vg.Length(x) * perPixel, Y: h - vg.Length(y)*perPixel}
	return f.near(pen{draw.NewCanvas(new(recorder.Canvas), w, h)}, at)
}

// near lays the curve out without drawing it, and returns the song and the take nearest to
// a point. Of songs that lie over each other it is one that is not picked, so that
// another click comes to the next.
func (v *curveView) near(p pen, at vg.Point) Near {
	near := Near{Song: -1}
	ax, c, inner := v.layout(p)
	canvas := ax.DataCanvas(inner.Canvas)
	c.on(canvas, ax)
	if size := canvas.Size(); size.X < 8 || size.Y < 8 {
		return near
	}
	nearest := c.base * pickReach
	for _, bar := range v.songs { // the one picked comes last
		on := vg.Point{X: min(max(at.X, c.x(bar.low)), c.x(bar.high)), Y: c.laneY(bar)}
		if d := distance(on, at); d < nearest {
			nearest, near.Song = d, bar.index
		}
	}
	for _, s := range v.strokes {
		if d := distance(c.strokeAt(s), at); c.lag.Contains(s.at.lag) && d < nearest {
			nearest, near.Song = d, s.song
		}
	}
	nearest = c.base * pickReach
	for _, take := range v.takes {
		if d := distance(c.at(take), at); d < nearest {
			nearest, near.Take, near.Voice = d, take.Take, take.Voice
		}
	}
	return near
}

func distance(a, b vg.Point) vg.Length {
	return vg.Length(math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y)))
}
