package trace

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// Sizes of the picture's parts in device-independent pixels.
const (
	laneHeight  = 30 // between the two waveforms
	mapHeight   = 5  // the strip that shows where in the take the view is
	tickSpacing = 110
	headRadius  = 4.5
	crowded     = 14 // hits closer together than this are drawn without heads
	sparse      = 50 // further apart than this, with stems of full height
)

// frame is everything a picture depends on.
type frame struct {
	w, h              int // device pixels
	scale             float64
	view              view
	take              *Take
	version           int
	selected, hovered int
	focused           bool
	chosen            pin
	half              session.Channel
	cursorS, dragS    float64
	heardS            float64
	dragging          bool
	hint              string
	inks              sketch.Inks
	small             float64 // caption size
}

// painter draws the picture and keeps it while nothing changes.
type painter struct {
	last frame
	pen  *ink.Pen

	columns []Range
	heights []float64
	shades  []uint32
	bars    map[int]bool // device columns that already hold a crowded pair
}

// draw brings the board up to date.
func (t *Trace) draw(pen *ink.Pen, anew bool) {
	size := pen.Img.Rect.Size()
	f := frame{
		w: size.X, h: size.Y, scale: pen.Scale, view: t.view, take: t.take, version: t.version,
		selected: t.selected, hovered: t.hovered, focused: t.focused, hint: t.hint,
		chosen: t.chosen, half: t.half, cursorS: t.cursorS, heardS: t.heardS, dragging: t.dragging, dragS: t.dragS,
		inks: look.Inks(pen.Theme), small: t.captionSize(),
	}
	if p := &t.picture; anew || f != p.last {
		p.last, p.pen = f, pen
		p.drawAll(t, &f)
	}
}

// drawAll draws the picture from the paper up.
func (p *painter) drawAll(t *Trace, f *frame) {
	p.pen.Clear(f.inks.Paper)
	if f.take == nil {
		p.drawSentence(f, t.sentence())
	} else {
		g := p.layout(f)
		p.drawGrid(f, g)
		p.drawWaves(t, f, g)
		p.drawPairs(t, f, g)
		p.drawMarks(f, g)
		p.drawCaptions(f, g)
		p.drawMap(f, g)
		p.drawCard(t, f, g)
		if t.fault != nil {
			p.drawSentence(f, t.fault.Error())
		}
	}
	if f.focused {
		p.drawFocus()
	}
}

// geometry is where the picture's parts lie, in device-independent pixels.
type geometry struct {
	w, h, top           float64
	laneTop, laneBottom float64
	bottom              float64 // of the voice's half
	axis                float64 // middle of the axis labels
	afterCaption        float64 // right end of the upper caption
	perSecond, fromS    float64
	crowdedHits         bool // too close together for heads and brackets
	sparseHits          bool // far enough apart for stems of full height
}

// x returns where a moment lies.
func (g *geometry) x(at float64) float64 { return (at - g.fromS) * g.perSecond }

const topGap = 3 // above the reference's half

// axisRow returns how high the axis' labels are, for captions of the given size.
func axisRow(small float64) float64 { return small * 1.7 }

// middle returns where the halves of a picture of height h meet.
func middle(h, small float64) float64 { return (topGap + h - axisRow(small) - mapHeight) / 2 }

func (t *Trace) captionSize() float64 { return float64(t.Theme().Size(theme.SizeNameCaptionText)) }

// layout divides the picture.
func (p *painter) layout(f *frame) *geometry {
	w, h := p.pen.Size()
	row := axisRow(f.small)
	g := &geometry{w: w, h: h, top: topGap, bottom: h - row - mapHeight}
	middle := middle(h, f.small)
	lane := min(laneHeight, h/4)
	g.laneTop, g.laneBottom = middle-lane/2, middle+lane/2
	g.axis = g.bottom + row/2 + 1
	g.fromS = f.view.from
	if span := f.view.span(); span > 0 {
		g.perSecond = w / span
	}
	hits := max(within(f.take.Reading.ReferenceHitsS, f.view), within(f.take.Reading.VoiceHitsS, f.view))
	spacing := w / float64(max(1, hits))
	g.crowdedHits, g.sparseHits = spacing < crowded, spacing > sparse
	return g
}

// drawGrid draws the time axis and the lane.
func (p *painter) drawGrid(f *frame, g *geometry) {
	faint := sketch.Mix(f.inks.Paper, f.inks.Grid, 0.55)
	for _, tk := range ticks(f.view.from, f.view.to, max(1, int(g.w/tickSpacing))) {
		x := g.x(tk.at)
		p.pen.Upright(faint, x, g.top, g.bottom, 1)
		p.pen.Upright(f.inks.Quiet, x, g.bottom-4, g.bottom, 1)
		half := p.pen.TextWidth(f.small, false, tk.label) / 2
		if left := x - half; left >= 2 && x+half <= g.w-2 {
			p.pen.Text(f.inks.Quiet, x, g.axis, sketch.Centre, f.small, false, tk.label)
		} else if left < 2 && x > -half/2 {
			p.pen.Text(f.inks.Quiet, 4, g.axis, sketch.Left, f.small, false, tk.label)
		}
	}
	p.pen.Level(f.inks.Grid, 0, g.w, g.bottom, 1)
	p.pen.Box(sketch.Mix(f.inks.Paper, f.inks.Grid, 0.30), 0, g.laneTop, g.w, g.laneBottom)
}

// drawCaptions names the halves in a corner each, with the gain the waveform is
// drawn at.
func (p *painter) drawCaptions(f *frame, g *geometry) {
	y := g.top + f.small*0.9
	g.afterCaption = p.caption(f, f.inks.Reference, y, i18n.L("Reference")+gainText(f.take.Reference), p.pen.Disc)
	y = g.bottom - f.small*0.9
	p.caption(f, f.inks.Voice, y, i18n.L("Voice")+gainText(f.take.Voice), p.pen.Diamond)
}

// caption writes text behind its mark at the left edge and returns where it
// ends.
func (p *painter) caption(f *frame, c color.Color, y float64, text string, mark func(color.Color, float64, float64, float64)) float64 {
	width := p.pen.TextWidth(f.small, true, text)
	half := f.small * 0.75
	p.pen.Card(f.inks.Paper, 5, y-half, width+30, y+half, 4)
	mark(c, 15, y, headRadius)
	p.pen.Text(c, 25, y, sketch.Left, f.small, true, text)
	return width + 34
}

// drawMap shows where in the take the view lies, once it is not all of it.
func (p *painter) drawMap(f *frame, g *geometry) {
	v := f.view
	if v.length <= 0 || v.span() >= v.length*0.999 {
		return
	}
	y0, y1 := g.h-mapHeight, g.h-2
	p.pen.Box(f.inks.Grid, 0, y0, g.w, y1)
	left, wide := v.from/v.length*g.w, max(8, v.span()/v.length*g.w)
	left = min(left, g.w-wide)
	p.pen.Box(f.inks.Mark, left, y0, left+wide, y1)
}

// drawCard says in words what is known of the pair pointed at, or of what is
// selected.
func (p *painter) drawCard(t *Trace, f *frame, g *geometry) {
	lo, hi, text := f.chosen.atS, f.chosen.atS, t.selectedText()
	i := f.hovered
	if i != none && i < len(t.pairs()) {
		text = t.pairText(i)
	} else if i = f.selected; text == "" {
		return
	}
	if i != none {
		lo, hi = ends(t.pairs()[i])
	}
	lines := p.pen.Wrap(f.small, text, min(440, g.w-24))
	wide := 0.0
	for _, line := range lines {
		wide = max(wide, p.pen.TextWidth(f.small, false, line))
	}
	row := f.small * 1.4
	left := min(g.x((lo+hi)/2)-wide/2-9, g.w-wide-22)
	left = max(4, min(g.afterCaption, g.w-wide-22), left)
	top := g.top + 2
	bottom := top + row*float64(len(lines)) + 8
	p.pen.Card(f.inks.Quiet, left, top, left+wide+18, bottom, 5)
	p.pen.Card(f.inks.Paper, left+1, top+1, left+wide+17, bottom-1, 4)
	for k, line := range lines {
		p.pen.Text(f.inks.Text, left+9, top+4+row*(float64(k)+0.5), sketch.Left, f.small, false, line)
	}
}

// drawSentence writes a sentence in the middle of the picture.
func (p *painter) drawSentence(f *frame, sentence string) {
	w, h := p.pen.Size()
	size := f.small * 1.2
	lines := p.pen.Wrap(size, sentence, min(560, w-40))
	row := size * 1.5
	if f.take == nil {
		p.pen.Level(f.inks.Grid, 0, w, h/2, 1)
	}
	tall, wide := row*float64(len(lines)), min(600, w)
	p.pen.Card(f.inks.Paper, w/2-wide/2, h/2-tall/2-6, w/2+wide/2, h/2+tall/2+6, 6)
	y := h/2 - tall/2 + row/2
	for i, line := range lines {
		p.pen.Text(f.inks.Quiet, w/2, y+row*float64(i), sketch.Centre, size, false, line)
	}
}

// drawFocus frames the picture.
func (p *painter) drawFocus() {
	w, h := p.pen.Size()
	const width = 2
	focus := look.Pick(p.pen.Theme, theme.ColorNameFocus, fyne.CurrentApp().Settings().ThemeVariant())
	p.pen.Box(focus, 0, 0, w, width)
	p.pen.Box(focus, 0, h-width, w, h)
	p.pen.Box(focus, 0, 0, width, h)
	p.pen.Box(focus, w-width, 0, w, h)
}
