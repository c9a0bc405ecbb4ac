package picture

import (
	"image/color"
	"math"

	"lagwright/calib/machine"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
)

// drawMarks draws over the pins what was done by hand, and the selected hit. A
// struck-out hit is a hollow, crossed pin with a dashed stem; one that was added
// or moved carries a square half way up its stem.
func (p *Picture) drawMarks(f *frame, m *mirror.Trace) {
	p.drawByHand(f, m, f.Take.ReferenceHits, f.inks.Reference, m.LaneTop, m.Top)
	p.drawByHand(f, m, f.Take.VoiceHits, f.inks.Voice, m.LaneBottom, m.Bottom)
	if f.HeardS >= 0 {
		y := (m.LaneTop + m.LaneBottom) / 2
		p.pen.Disc(f.inks.Paper, m.X(f.HeardS), y, sketch.HeadRadius+2.5)
		p.pen.Disc(f.inks.Mark, m.X(f.HeardS), y, sketch.HeadRadius+1)
	}
	foot, tip := m.LaneTop, m.Top
	if f.Half == machine.VoiceChannel {
		foot, tip = m.LaneBottom, m.Bottom
	}
	switch {
	case f.Chosen.Channel != "":
		p.drawChosen(f, m, foot, tip)
	case f.Focused && f.CursorS >= 0:
		x := m.X(f.CursorS)
		p.pen.Dashes(f.inks.Text, 1.5, 5, sketch.Pt{X: x, Y: foot}, sketch.Pt{X: x, Y: tip})
	}
}

// squareHalf is half the side of the mark of a hit set by hand.
const squareHalf = 4

func (p *Picture) drawByHand(f *frame, m *mirror.Trace, hits []machine.Hit, c color.Color, foot, tip float64) {
	away := math.Copysign(1, tip-foot)
	for _, h := range hits {
		x := m.X(h.AtS)
		if x < -Reach || x > m.W+Reach {
			continue
		}
		switch {
		case h.Struck:
			p.pen.Dashes(c, 1.5, 3, sketch.Pt{X: x, Y: foot}, sketch.Pt{X: x, Y: foot + away*(m.LaneBottom-m.LaneTop)})
			p.pen.Disc(f.inks.Paper, x, foot, sketch.HeadRadius+1)
			p.pen.Ring(c, x, foot, sketch.HeadRadius, 1.2)
			p.pen.Cross(c, x, foot, sketch.HeadRadius+2.5, 2)
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
func (p *Picture) drawChosen(f *frame, m *mirror.Trace, foot, tip float64) {
	at := f.Chosen.AtS
	if f.Dragging {
		at = f.DragS
		p.pen.Dashes(f.inks.Quiet, 1, 3, sketch.Pt{X: m.X(f.Chosen.AtS), Y: foot}, sketch.Pt{X: m.X(f.Chosen.AtS), Y: tip})
	}
	x := m.X(at)
	p.pen.Upright(f.inks.Text, x, min(foot, tip), max(foot, tip), 1)
	p.pen.Ring(f.inks.Paper, x, foot, sketch.HeadRadius+4.5, 5)
	p.pen.Ring(f.inks.Text, x, foot, sketch.HeadRadius+4.5, 2)
}

// drawMarked shades the selected pair from top to bottom, and more faintly the
// one under the pointer.
func (p *Picture) drawMarked(f *frame, m *mirror.Trace) {
	mark := func(i int, share float64) {
		if i == None || i >= len(f.Take.Reading.Pairs) {
			return
		}
		lo, hi := mirror.Ends(f.Take.Reading.Pairs[i])
		x0, x1 := m.X(lo)-5, m.X(hi)+5
		p.pen.Box(sketch.Faded(f.inks.Mark, share), x0, m.Top, x1, m.Bottom)
		p.pen.Upright(f.inks.Mark, x0, m.Top, m.Bottom, 1)
		p.pen.Upright(f.inks.Mark, x1, m.Top, m.Bottom, 1)
	}
	if f.Hovered != f.Selected {
		mark(f.Hovered, 0.07)
	}
	mark(f.Selected, 0.14)
}
