// Package picture draws the mirror trace: both waveforms, their hits as pins, and the
// pairs as brackets in the lane between them.
//
// Times are in seconds from the start of the take, lags in milliseconds, positions in
// device-independent pixels.
package picture

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
	"lagwright/ui/trace/wave"
)

// Reach is how far from a pin or a bracket still means it, in device-independent pixels.
const Reach = 10

// Sizes of the picture's parts in device-independent pixels.
const (
	laneHeight  = 30 // between the two waveforms
	mapHeight   = 5  // the strip that shows where in the take the view is
	tickSpacing = 110
	headRadius  = 4.5
	crowded     = 14 // hits closer together than this are drawn without heads
	sparse      = 50 // further apart than this, with stems of full height
)

// Take is what is drawn. Whoever draws it owns it; nobody else may touch the pyramids
// from then on. The reading's hits and pairs are in order of time.
type Take struct {
	Reference, Voice *wave.Pyramid
	Reading          calib.Reading

	ReferenceHits, VoiceHits []session.Hit // all that were found or made, the struck-out ones too, in order of time
}

// Hits returns the hits of a channel in order of time.
func (t *Take) Hits(c session.Channel) []session.Hit {
	switch {
	case t == nil:
		return nil
	case c == session.ReferenceChannel:
		return t.ReferenceHits
	case c == session.VoiceChannel:
		return t.VoiceHits
	}
	return nil
}

// Pairs returns the reading's pairs; none without a take.
func (t *Take) Pairs() []calib.Pair {
	if t == nil {
		return nil
	}
	return t.Reading.Pairs
}

// None stands for no pair.
const None = -1

// Nowhere stands for no moment.
const Nowhere = -1.0

// Pin names one hit of the take in sight.
type Pin struct {
	Channel session.Channel // "" = None
	AtS     float64
}

// State is everything a picture depends on but its size and theme.
type State struct {
	View              View
	Take              *Take
	Version           int // of the take, so that one changed is drawn again
	Selected, Hovered int // pairs, or None
	Chosen            Pin // the selected hit
	Half              session.Channel
	CursorS           float64 // where a hit would be added, or Nowhere
	HeardS            float64 // what is listened to, or Nowhere
	Dragging          bool    // the chosen hit, which would go to DragS
	DragS             float64
	Focused           bool
	Said              string // of what is selected or pointed at; without a take, what the picture says instead
}

// frame is everything a picture depends on.
type frame struct {
	State
	w, h  int // device pixels
	scale float64
	inks  sketch.Inks
	small float64 // caption size
}

// Picture draws a take and keeps what it drew while nothing changes. It belongs to one
// goroutine.
type Picture struct {
	Fault error // why the last drawing lacks a waveform

	last    frame
	pen     *ink.Pen
	channel channel
	bars    map[int]bool // device columns that already hold a crowded pair
}

// Draw brings what was drawn with the pen up to date; anew where nothing of that is
// left.
func (p *Picture) Draw(pen *ink.Pen, s State, anew bool) {
	size := pen.Img.Rect.Size()
	f := frame{State: s, w: size.X, h: size.Y, scale: pen.Scale, inks: look.Inks(pen.Theme), small: CaptionSize(pen.Theme)}
	if anew || f != p.last {
		p.last, p.pen, p.channel.pen = f, pen, pen
		p.drawAll(&f)
	}
}

// drawAll draws the picture from the paper up.
func (p *Picture) drawAll(f *frame) {
	p.pen.Clear(f.inks.Paper)
	if f.Take == nil {
		p.drawSentence(f, f.Said)
	} else {
		g := p.layout(f)
		p.drawGrid(f, g)
		p.drawWaves(f, g)
		p.drawPairs(f, g)
		p.drawMarks(f, g)
		p.drawCaptions(f, g)
		p.drawMap(f, g)
		p.drawCard(f, g)
		if p.Fault != nil {
			p.drawSentence(f, p.Fault.Error())
		}
	}
	if f.Focused {
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

// Middle returns where the halves of a picture of height h meet.
func Middle(h, small float64) float64 { return (topGap + h - axisRow(small) - mapHeight) / 2 }

// CaptionSize is the size of captions under a theme.
func CaptionSize(th fyne.Theme) float64 { return float64(th.Size(theme.SizeNameCaptionText)) }

// layout divides the picture.
func (p *Picture) layout(f *frame) *geometry {
	w, h := p.pen.Size()
	row := axisRow(f.small)
	g := &geometry{w: w, h: h, top: topGap, bottom: h - row - mapHeight}
	middle := Middle(h, f.small)
	lane := min(laneHeight, h/4)
	g.laneTop, g.laneBottom = middle-lane/2, middle+lane/2
	g.axis = g.bottom + row/2 + 1
	g.fromS = f.View.From
	if span := f.View.Span(); span > 0 {
		g.perSecond = w / span
	}
	hits := max(within(f.Take.Reading.ReferenceHitsS, f.View), within(f.Take.Reading.VoiceHitsS, f.View))
	spacing := w / float64(max(1, hits))
	g.crowdedHits, g.sparseHits = spacing < crowded, spacing > sparse
	return g
}

// drawGrid draws the time axis and the lane.
func (p *Picture) drawGrid(f *frame, g *geometry) {
	faint := sketch.Mix(f.inks.Paper, f.inks.Grid, 0.55)
	for _, tk := range ticks(f.View.From, f.View.To, max(1, int(g.w/tickSpacing))) {
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
func (p *Picture) drawCaptions(f *frame, g *geometry) {
	y := g.top + f.small*0.9
	g.afterCaption = p.caption(f, f.inks.Reference, y, i18n.L("Reference")+gainText(f.Take.Reference), p.pen.Disc)
	y = g.bottom - f.small*0.9
	p.caption(f, f.inks.Voice, y, i18n.L("Voice")+gainText(f.Take.Voice), p.pen.Diamond)
}

// caption writes text behind its mark at the left edge and returns where it
// ends.
func (p *Picture) caption(f *frame, c color.Color, y float64, text string, mark func(color.Color, float64, float64, float64)) float64 {
	width := p.pen.TextWidth(f.small, true, text)
	half := f.small * 0.75
	p.pen.Card(f.inks.Paper, 5, y-half, width+30, y+half, 4)
	mark(c, 15, y, headRadius)
	p.pen.Text(c, 25, y, sketch.Left, f.small, true, text)
	return width + 34
}

// drawMap shows where in the take the view lies, once it is not all of it.
func (p *Picture) drawMap(f *frame, g *geometry) {
	v := f.View
	if v.Length <= 0 || v.Span() >= v.Length*0.999 {
		return
	}
	y0, y1 := g.h-mapHeight, g.h-2
	p.pen.Box(f.inks.Grid, 0, y0, g.w, y1)
	left, wide := v.From/v.Length*g.w, max(8, v.Span()/v.Length*g.w)
	left = min(left, g.w-wide)
	p.pen.Box(f.inks.Mark, left, y0, left+wide, y1)
}

// drawCard says in words what is known of the pair pointed at, or of what is
// selected.
func (p *Picture) drawCard(f *frame, g *geometry) {
	if f.Said == "" {
		return
	}
	lo, hi := f.Chosen.AtS, f.Chosen.AtS
	i, pairs := f.Hovered, f.Take.Pairs()
	if i == None || i >= len(pairs) {
		i = f.Selected
	}
	if i != None {
		lo, hi = Ends(pairs[i])
	}
	lines := p.pen.Wrap(f.small, f.Said, min(440, g.w-24))
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
func (p *Picture) drawSentence(f *frame, sentence string) {
	w, h := p.pen.Size()
	size := f.small * 1.2
	lines := p.pen.Wrap(size, sentence, min(560, w-40))
	row := size * 1.5
	if f.Take == nil {
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
func (p *Picture) drawFocus() {
	w, h := p.pen.Size()
	const width = 2
	focus := look.Pick(p.pen.Theme, theme.ColorNameFocus, fyne.CurrentApp().Settings().ThemeVariant())
	p.pen.Box(focus, 0, 0, w, width)
	p.pen.Box(focus, 0, h-width, w, h)
	p.pen.Box(focus, 0, 0, width, h)
	p.pen.Box(focus, w-width, 0, w, h)
}

// Ends returns the moments of a pair's two hits in order.
func Ends(p calib.Pair) (lo, hi float64) {
	return min(p.ReferenceS, p.VoiceS), max(p.ReferenceS, p.VoiceS)
}
