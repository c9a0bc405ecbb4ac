package picture

import (
	"image/color"
	"math"
	"sort"

	"lagwright/calib"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
)

// within counts the hits in sight; hits are in order of time.
func within(hits []float64, v View) int {
	return sort.SearchFloat64s(hits, v.To) - sort.SearchFloat64s(hits, v.From)
}

// drawPairs draws pins and brackets.
func (p *Picture) drawPairs(f *frame, g *geometry) {
	p.drawMarked(f, g)
	r := &f.Take.Reading
	p.drawPins(f, g, r.ReferenceHitsS, f.inks.Reference, g.laneTop, g.top)
	p.drawPins(f, g, r.VoiceHitsS, f.inks.Voice, g.laneBottom, g.bottom)
	if g.crowdedHits {
		p.drawCrowd(f, g)
		return
	}
	for i, pair := range r.Pairs {
		lo, hi := Ends(pair)
		if g.x(hi) < -2*laneHeight || g.x(lo) > g.w+2*laneHeight {
			continue
		}
		p.drawHeads(f, g, pair)
		p.drawBracket(f, g, i)
	}
}

// drawMarked shades the selected pair from top to bottom, and more faintly the
// one under the pointer.
func (p *Picture) drawMarked(f *frame, g *geometry) {
	mark := func(i int, share float64) {
		if i == None || i >= len(f.Take.Reading.Pairs) {
			return
		}
		lo, hi := Ends(f.Take.Reading.Pairs[i])
		c := color.NRGBAModel.Convert(f.inks.Mark).(color.NRGBA)
		c.A = uint8(255 * share)
		x0, x1 := g.x(lo)-5, g.x(hi)+5
		p.pen.Box(c, x0, g.top, x1, g.bottom)
		p.pen.Upright(f.inks.Mark, x0, g.top, g.bottom, 1)
		p.pen.Upright(f.inks.Mark, x1, g.top, g.bottom, 1)
	}
	if f.Hovered != f.Selected {
		mark(f.Hovered, 0.07)
	}
	mark(f.Selected, 0.14)
}

// stub is the length of a pin's stem where it would hide the waveform.
const stub = 9

// drawPins draws each hit's stem from the lane at foot; full height, or a stub
// where hits are close together.
func (p *Picture) drawPins(f *frame, g *geometry, hits []float64, c color.Color, foot, limit float64) {
	tip := limit
	if !g.sparseHits {
		tip = foot + math.Copysign(stub, limit-foot)
	}
	first := sort.SearchFloat64s(hits, f.View.From)
	last := math.Inf(-1)
	for _, at := range hits[first : first+within(hits, f.View)] {
		x := g.x(at)
		if x-last < 1/f.scale {
			continue
		}
		last = x
		p.pen.Upright(c, x, min(foot, tip), max(foot, tip), 1.5)
	}
}

// drawCrowd marks pairs too close together for brackets by a stroke each: full
// height when used, short when left out.
func (p *Picture) drawCrowd(f *frame, g *geometry) {
	if p.bars == nil {
		p.bars = map[int]bool{}
	}
	clear(p.bars)
	middle := (g.laneTop + g.laneBottom) / 2
	for _, pair := range f.Take.Reading.Pairs {
		x := g.x((pair.ReferenceS + pair.VoiceS) / 2)
		column := int(x * f.scale)
		if x < 0 || x > g.w || p.bars[column] {
			continue
		}
		p.bars[column] = true
		c, half := f.inks.Side(pair.LagMS), (g.laneBottom-g.laneTop)/2-4
		if !pair.Used {
			c, half = f.inks.Quiet, 3
		}
		p.pen.Upright(c, x, middle-half, middle+half, 1.5)
	}
}

// drawHeads sets the pins' heads on the lane's edges: a disc for the reference, a
// diamond for the voice; hollow where the pair is left out.
func (p *Picture) drawHeads(f *frame, g *geometry, pair calib.Pair) {
	rx, vx := g.x(pair.ReferenceS), g.x(pair.VoiceS)
	p.pen.Disc(f.inks.Reference, rx, g.laneTop, headRadius)
	p.pen.Diamond(f.inks.Voice, vx, g.laneBottom, headRadius+1)
	if !pair.Used {
		p.pen.Disc(f.inks.Paper, rx, g.laneTop, headRadius-1.5)
		p.pen.Diamond(f.inks.Paper, vx, g.laneBottom, headRadius-1.2)
	}
}

// drawBracket joins the pins of pair i through the lane: down from the reference,
// along by the lag, down to the voice. The lag stands in it where there is room,
// else beside it.
func (p *Picture) drawBracket(f *frame, g *geometry, i int) {
	pair := f.Take.Reading.Pairs[i]
	rx, vx := g.x(pair.ReferenceS), g.x(pair.VoiceS)
	middle := (g.laneTop + g.laneBottom) / 2
	c := f.inks.Side(pair.LagMS)
	if !pair.Used {
		p.drawLeftOut(f, g, rx, vx)
		p.writeLag(f, g, i, f.inks.Quiet)
		return
	}
	lo, hi := min(rx, vx), max(rx, vx)
	half := f.small * 0.72
	p.pen.Box(sketch.Mix(f.inks.Paper, c, 0.18), max(lo, -9), middle-half, min(hi, g.w+9), middle+half)
	p.pen.Level(c, lo, hi, middle-half, 1.5)
	p.pen.Level(c, lo, hi, middle+half, 1.5)
	p.pen.Upright(c, rx, g.laneTop+headRadius, middle+half, 2)
	p.pen.Upright(c, vx, middle-half, g.laneBottom-headRadius, 2)
	p.writeLag(f, g, i, c)
}

// drawLeftOut draws the bracket of a pair that does not count: dashed, crossed.
func (p *Picture) drawLeftOut(f *frame, g *geometry, rx, vx float64) {
	middle := (g.laneTop + g.laneBottom) / 2
	lo, hi := max(-9, min(rx, vx)), min(g.w+9, max(rx, vx))
	p.pen.Dashes(f.inks.Quiet, 1.5, 4, sketch.Pt{X: lo, Y: middle}, sketch.Pt{X: hi, Y: middle})
	p.pen.Dashes(f.inks.Quiet, 1.5, 3, sketch.Pt{X: rx, Y: g.laneTop + headRadius}, sketch.Pt{X: rx, Y: middle})
	p.pen.Dashes(f.inks.Quiet, 1.5, 3, sketch.Pt{X: vx, Y: middle}, sketch.Pt{X: vx, Y: g.laneBottom - headRadius})
	p.pen.Cross(f.inks.Quiet, (lo+hi)/2, middle, 5, 2)
}

// writeLag writes the lag of pair i in its bracket, or to its right as far as the
// next pair leaves room: in full, without the word, or not at all.
func (p *Picture) writeLag(f *frame, g *geometry, i int, c color.Color) {
	pairs := f.Take.Reading.Pairs
	lo, hi := Ends(pairs[i])
	left, right := g.x(lo), g.x(hi)
	beyond := g.w - 3
	if i+1 < len(pairs) {
		next, _ := Ends(pairs[i+1])
		beyond = min(beyond, g.x(next)-6)
	}
	middle := (g.laneTop + g.laneBottom) / 2
	for _, s := range []string{look.Lag(pairs[i].LagMS), look.LagFigure(pairs[i].LagMS)} {
		width := p.pen.TextWidth(f.small, true, s)
		if pairs[i].Used && width+10 <= min(right, g.w)-max(left, 0) {
			p.pen.Text(c, (max(left, 0)+min(right, g.w))/2, middle, sketch.Centre, f.small, true, s)
			return
		}
		if right+8 >= 0 && right+8+width <= beyond {
			p.pen.Text(c, right+8, middle, sketch.Left, f.small, true, s)
			return
		}
	}
}
