package trace

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
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

// inkSet is the theme's colours as the picture needs them.
type inkSet struct {
	paper, grid, text, quiet, focus, mark color.Color
	reference, voice, late, early         color.Color
	small                                 float64 // caption size
}

// inks asks the theme for the colours.
func inks(th fyne.Theme, variant fyne.ThemeVariant) inkSet {
	pick := func(name fyne.ThemeColorName) color.Color { return look.Pick(th, name, variant) }
	return inkSet{
		paper: pick(look.Paper), grid: pick(look.Grid),
		text: pick(theme.ColorNameForeground), quiet: pick(theme.ColorNamePlaceHolder),
		focus: pick(theme.ColorNameFocus), mark: pick(theme.ColorNamePrimary),
		reference: pick(look.Reference), voice: pick(look.Voice),
		late: pick(look.Late), early: pick(look.Early),
		small: float64(th.Size(theme.SizeNameCaptionText)),
	}
}

// lag returns the colour of a lag's side.
func (s *inkSet) lag(ms float64) color.Color {
	if ms < 0 {
		return s.early
	}
	return s.late
}

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
	inks              inkSet
}

// painter draws the picture and keeps it while nothing changes.
type painter struct {
	last frame
	img  *image.RGBA
	pen  ink.Pen

	columns []Range
	heights []float64
	shades  []uint32
	bars    map[int]bool // device columns that already hold a crowded pair
}

// draw returns the picture of t at w by h device pixels.
func (p *painter) draw(t *Trace, w, h int, scale float64) image.Image {
	th := t.Theme()
	f := frame{
		w: w, h: h, scale: scale, view: t.view, take: t.take, version: t.version,
		selected: t.selected, hovered: t.hovered, focused: t.focused, hint: t.hint,
		chosen: t.chosen, half: t.half, cursorS: t.cursorS, heardS: t.heardS, dragging: t.dragging, dragS: t.dragS,
		inks: inks(th, fyne.CurrentApp().Settings().ThemeVariant()),
	}
	if p.img != nil && f == p.last {
		return p.img
	}
	if p.img == nil || p.img.Rect.Dx() != w || p.img.Rect.Dy() != h {
		p.img = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	p.last = f
	p.pen.Img, p.pen.Scale, p.pen.Theme = p.img, scale, th
	if w > 0 && h > 0 {
		p.drawAll(t, &f)
	}
	return p.img
}

// drawAll draws the picture from the paper up.
func (p *painter) drawAll(t *Trace, f *frame) {
	p.pen.Clear(f.inks.paper)
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
		p.drawFocus(f)
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
	row := axisRow(f.inks.small)
	g := &geometry{w: w, h: h, top: topGap, bottom: h - row - mapHeight}
	middle := middle(h, f.inks.small)
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
	faint := ink.Mix(f.inks.paper, f.inks.grid, 0.55)
	for _, tk := range ticks(f.view.from, f.view.to, max(1, int(g.w/tickSpacing))) {
		x := g.x(tk.at)
		p.pen.Upright(faint, x, g.top, g.bottom, 1)
		p.pen.Upright(f.inks.quiet, x, g.bottom-4, g.bottom, 1)
		half := p.pen.TextWidth(f.inks.small, false, tk.label) / 2
		if left := x - half; left >= 2 && x+half <= g.w-2 {
			p.pen.Text(f.inks.quiet, x, g.axis, ink.Centre, f.inks.small, false, tk.label)
		} else if left < 2 && x > -half/2 {
			p.pen.Text(f.inks.quiet, 4, g.axis, ink.Left, f.inks.small, false, tk.label)
		}
	}
	p.pen.Level(f.inks.grid, 0, g.w, g.bottom, 1)
	p.pen.Box(ink.Mix(f.inks.paper, f.inks.grid, 0.30), 0, g.laneTop, g.w, g.laneBottom)
}

// drawCaptions names the halves in a corner each, with the gain the waveform is
// drawn at.
func (p *painter) drawCaptions(f *frame, g *geometry) {
	y := g.top + f.inks.small*0.9
	g.afterCaption = p.caption(f, f.inks.reference, y, i18n.L("Reference")+gainText(f.take.Reference), p.pen.Disc)
	y = g.bottom - f.inks.small*0.9
	p.caption(f, f.inks.voice, y, i18n.L("Voice")+gainText(f.take.Voice), p.pen.Diamond)
}

// caption writes text behind its mark at the left edge and returns where it
// ends.
func (p *painter) caption(f *frame, c color.Color, y float64, text string, mark func(color.Color, float64, float64, float64)) float64 {
	width := p.pen.TextWidth(f.inks.small, true, text)
	half := f.inks.small * 0.75
	p.pen.Card(f.inks.paper, 5, y-half, width+30, y+half, 4)
	mark(c, 15, y, headRadius)
	p.pen.Text(c, 25, y, ink.Left, f.inks.small, true, text)
	return width + 34
}

// drawMap shows where in the take the view lies, once it is not all of it.
func (p *painter) drawMap(f *frame, g *geometry) {
	v := f.view
	if v.length <= 0 || v.span() >= v.length*0.999 {
		return
	}
	y0, y1 := g.h-mapHeight, g.h-2
	p.pen.Box(f.inks.grid, 0, y0, g.w, y1)
	left, wide := v.from/v.length*g.w, max(8, v.span()/v.length*g.w)
	left = min(left, g.w-wide)
	p.pen.Box(f.inks.mark, left, y0, left+wide, y1)
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
	lines := p.pen.Wrap(f.inks.small, text, min(440, g.w-24))
	wide := 0.0
	for _, line := range lines {
		wide = max(wide, p.pen.TextWidth(f.inks.small, false, line))
	}
	row := f.inks.small * 1.4
	left := min(g.x((lo+hi)/2)-wide/2-9, g.w-wide-22)
	left = max(4, min(g.afterCaption, g.w-wide-22), left)
	top := g.top + 2
	bottom := top + row*float64(len(lines)) + 8
	p.pen.Card(f.inks.quiet, left, top, left+wide+18, bottom, 5)
	p.pen.Card(f.inks.paper, left+1, top+1, left+wide+17, bottom-1, 4)
	for k, line := range lines {
		p.pen.Text(f.inks.text, left+9, top+4+row*(float64(k)+0.5), ink.Left, f.inks.small, false, line)
	}
}

// drawSentence writes a sentence in the middle of the picture.
func (p *painter) drawSentence(f *frame, sentence string) {
	w, h := p.pen.Size()
	size := f.inks.small * 1.2
	lines := p.pen.Wrap(size, sentence, min(560, w-40))
	row := size * 1.5
	if f.take == nil {
		p.pen.Level(f.inks.grid, 0, w, h/2, 1)
	}
	tall, wide := row*float64(len(lines)), min(600, w)
	p.pen.Card(f.inks.paper, w/2-wide/2, h/2-tall/2-6, w/2+wide/2, h/2+tall/2+6, 6)
	y := h/2 - tall/2 + row/2
	for i, line := range lines {
		p.pen.Text(f.inks.quiet, w/2, y+row*float64(i), ink.Centre, size, false, line)
	}
}

// drawFocus frames the picture.
func (p *painter) drawFocus(f *frame) {
	w, h := p.pen.Size()
	const width = 2
	p.pen.Box(f.inks.focus, 0, 0, w, width)
	p.pen.Box(f.inks.focus, 0, h-width, w, h)
	p.pen.Box(f.inks.focus, 0, 0, width, h)
	p.pen.Box(f.inks.focus, w-width, 0, w, h)
}
