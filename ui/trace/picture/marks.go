package picture

import (
	"image/color"
	"math"

	"lagwright/calib/session"
	"lagwright/plotting/sketch"
)

// drawMarks draws over the pins what was done by hand, and the selected hit. A
// struck-out hit is a hollow, crossed pin with a dashed stem; one that was added
// or moved carries a square half way up its stem.
func (p *Picture) drawMarks(f *frame, g *geometry) {
	p.drawByHand(f, g, f.Take.ReferenceHits, f.inks.Reference, g.laneTop, g.top)
	p.drawByHand(f, g, f.Take.VoiceHits, f.inks.Voice, g.laneBottom, g.bottom)
	if f.HeardS >= 0 {
		y := (g.laneTop + g.laneBottom) / 2
		p.pen.Disc(f.inks.Paper, g.x(f.HeardS), y, headRadius+2.5)
		p.pen.Disc(f.inks.Mark, g.x(f.HeardS), y, headRadius+1)
	}
	foot, tip := g.laneTop, g.top
	if f.Half == session.VoiceChannel {
		foot, tip = g.laneBottom, g.bottom
	}
	switch {
	case f.Chosen.Channel != "":
		p.drawChosen(f, g, foot, tip)
	case f.Focused && f.CursorS >= 0:
		x := g.x(f.CursorS)
		p.pen.Dashes(f.inks.Text, 1.5, 5, sketch.Pt{X: x, Y: foot}, sketch.Pt{X: x, Y: tip})
	}
}

// squareHalf is half the side of the mark of a hit set by hand.
const squareHalf = 4

func (p *Picture) drawByHand(f *frame, g *geometry, hits []session.Hit, c color.Color, foot, tip float64) {
	away := math.Copysign(1, tip-foot)
	for _, h := range hits {
		x := g.x(h.AtS)
		if x < -Reach || x > g.w+Reach {
			continue
		}
		switch {
		case h.Struck:
			p.pen.Dashes(c, 1.5, 3, sketch.Pt{X: x, Y: foot}, sketch.Pt{X: x, Y: foot + away*(g.laneBottom-g.laneTop)})
			p.pen.Disc(f.inks.Paper, x, foot, headRadius+1)
			p.pen.Ring(c, x, foot, headRadius, 1.2)
			p.pen.Cross(c, x, foot, headRadius+2.5, 2)
		case h.ByHand():
			y := foot + away*16
			p.pen.Upright(c, x, min(foot, y), max(foot, y), 1.5)
			p.pen.Box(c, x-squareHalf, y-squareHalf, x+squareHalf, y+squareHalf)
			p.pen.Box(f.inks.Paper, x-squareHalf+1.5, y-squareHalf+1.5, x+squareHalf-1.5, y+squareHalf-1.5)
		}
	}
}

// drawChosen draws a ring round the selected hit's head and a line through its
// half; where it is being dragged, they are where it would go.
func (p *Picture) drawChosen(f *frame, g *geometry, foot, tip float64) {
	at := f.Chosen.AtS
	if f.Dragging {
		at = f.DragS
		p.pen.Dashes(f.inks.Quiet, 1, 3, sketch.Pt{X: g.x(f.Chosen.AtS), Y: foot}, sketch.Pt{X: g.x(f.Chosen.AtS), Y: tip})
	}
	x := g.x(at)
	p.pen.Upright(f.inks.Text, x, min(foot, tip), max(foot, tip), 1)
	p.pen.Ring(f.inks.Paper, x, foot, headRadius+4.5, 5)
	p.pen.Ring(f.inks.Text, x, foot, headRadius+4.5, 2)
}
