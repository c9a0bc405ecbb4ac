package plotting

import (
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"
)

// pickReach is how far from a song's bar or point a click still means it, in base
// sizes.
const pickReach = 1.6

// SongAt returns the song, by its index in the curve, that is drawn nearest to a
// pixel of the picture that Image draws with the same size and scale, counted
// from the top left. It is not ok where no song is near, or the figure has none.
func (f *Figure) SongAt(widthPx, heightPx int, scale, x, y float64) (song int, ok bool) {
	if f.song == nil || widthPx < 1 || heightPx < 1 {
		return 0, false
	}
	w, h, dpi := onScreen(widthPx, heightPx, scale)
	if w < minWidth || h < minHeight {
		return 0, false
	}
	perPixel := vg.Inch / vg.Length(dpi)
	at := vg.Point{X: vg.Length(x) * perPixel, Y: h - vg.Length(y)*perPixel}
	return f.song(pen{draw.NewCanvas(new(recorder.Canvas), w, h)}, at)
}

// songAt lays the curve out without drawing it, and returns the song nearest to a
// point. Of songs that lie over each other it is one that is not picked, so that
// another click comes to the next.
func (v *curveView) songAt(p pen, at vg.Point) (song int, ok bool) {
	ax, c, inner := v.layout(p)
	canvas := ax.DataCanvas(inner.Canvas)
	c.on(canvas, ax)
	if size := canvas.Size(); size.X < 8 || size.Y < 8 {
		return 0, false
	}
	nearest := c.base * pickReach
	for _, bar := range v.songs { // the one picked comes last
		on := vg.Point{X: min(max(at.X, c.x(bar.low)), c.x(bar.high)), Y: c.laneY(bar)}
		if d := distance(on, at); d < nearest {
			nearest, song, ok = d, bar.index, true
		}
	}
	for _, s := range v.strokes {
		if d := distance(c.strokeAt(s), at); c.lag.Contains(s.at.lag) && d < nearest {
			nearest, song, ok = d, s.song, true
		}
	}
	return song, ok
}

func distance(a, b vg.Point) vg.Length {
	return vg.Length(math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y)))
}
