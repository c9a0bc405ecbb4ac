package plotting

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"lagwright/plotting/sketch"
)

// pickReach is how far from a song's bar or point, or from a take, a click still means it,
// and hitReach how far from a sweep's hit, in base sizes.
const pickReach, hitReach = 1.6, 0.6

// Near is what is drawn near a place of a curve.
type Near struct {
	Song  int    // its index in the curve; -1 = none
	Take  int    // its id; 0 = none
	Voice string // of the take

	TempoBPM, LagMS float64 // of the place itself, also beside the axes
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
	at := sketch.Pt{X: x * inch / float64(dpi), Y: y * inch / float64(dpi)}
	return f.near(penOn(draw.NewCanvas(new(recorder.Canvas), vg.Length(w), vg.Length(h))), at)
}

// near lays the curve out without drawing it, and returns the song and the take nearest to
// a point. Of songs that lie over each other it is one that is not picked, so that
// another click comes to the next.
func (v *curveView) near(p pen, at sketch.Pt) Near {
	near := Near{Song: -1}
	c := v.layout(p)
	if !c.drawable() {
		return near
	}
	at.X, at.Y = at.X-float64(c.pen.on.Min.X-p.on.Min.X), at.Y-float64(p.on.Max.Y-c.pen.on.Max.Y) // from the frame's corner
	near.TempoBPM, near.LagMS = c.wide.At(at.X, 0, c.w), c.high.At(at.Y, c.h, 0)
	nearest := c.base * pickReach
	for _, bar := range v.songs { // the one picked comes last
		on := sketch.Pt{X: min(max(at.X, c.x(bar.low)), c.x(bar.high)), Y: c.laneY(bar)}
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
	nearest = min(nearest, c.base*hitReach)
	for _, hit := range v.hits {
		if d := distance(c.at(hit), at); d < nearest {
			nearest, near.Take, near.Voice = d, hit.Take, hit.Voice
		}
	}
	return near
}

// Axes returns all that a curve has; what is in sight may be less.
func (f *Figure) Axes() CurveAxes { return f.axes }

func distance(a, b sketch.Pt) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }
