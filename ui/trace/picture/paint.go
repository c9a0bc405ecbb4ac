// Package picture draws the mirror trace: both waveforms, their hits as pins, and the
// pairs as brackets in the lane between them.
//
// Times are in seconds from the start of the take, lags in milliseconds, positions in
// device-independent pixels.
package picture

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
	"lagwright/plotting/wave"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
	"lagwright/ui/sight"
)

// Reach is how far from a pin or a bracket still means it, in device-independent pixels.
const Reach = 10

// mapHeight is that of the strip that shows where in the take the view is.
const mapHeight = 5

// Take is what is drawn. Whoever draws it owns it; nobody else may touch the pyramids
// from then on. The reading's hits and pairs are in order of time.
type Take struct {
	Reference, Voice *wave.Pyramid
	Reading          calib.Reading

	ReferenceHits, VoiceHits []machine.Hit // all that were found or made, the struck-out ones too, in order of time
}

// Hits returns the hits of a channel in order of time.
func (t *Take) Hits(c machine.Channel) []machine.Hit {
	switch {
	case t == nil:
		return nil
	case c == machine.ReferenceChannel:
		return t.ReferenceHits
	case c == machine.VoiceChannel:
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
	Channel machine.Channel // "" = None
	AtS     float64
}

// State is everything a picture depends on but its size and theme.
type State struct {
	View              sight.View
	Take              *Take
	Selected, Hovered int // pairs, or None
	Chosen            Pin // the selected hit
	Half              machine.Channel
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
	w     int // device pixels
	scale float64
	inks  sketch.Inks
	small float64 // caption size
}

// Picture draws a take. It belongs to one goroutine.
type Picture struct {
	Fault error // why the last drawing lacks a waveform

	pen     *ink.Pen
	columns []wave.Range
	heights []float64
}

// Draw draws it with a pen, from the paper up.
func (p *Picture) Draw(pen *ink.Pen, s State) {
	f := &frame{State: s, w: pen.Img.Rect.Dx(), scale: pen.Scale, inks: look.Inks(pen.Theme), small: CaptionSize(pen.Theme)}
	p.pen = pen
	p.pen.Clear(f.inks.Paper)
	if f.Take == nil {
		w, h := pen.Size()
		pen.Level(f.inks.Grid, 0, w, h/2, 1)
		pen.Sentence(f.inks.Quiet, f.inks.Paper, f.small*1.2, f.Said)
	} else {
		_, h := p.pen.Size()
		m := mirror.New(p.pen.Pen, f.inks, f.small, h-mapHeight, f.View.Span, f.Take.Reading)
		m.Grid()
		p.drawWaves(f, m)
		p.drawMarked(f, m)
		m.Pairs()
		p.drawMarks(f, m)
		caption := m.Captions(gainText(f.Take.Reference), gainText(f.Take.Voice))
		p.drawMap(f)
		p.drawCard(f, m, caption)
		if p.Fault != nil {
			pen.Sentence(f.inks.Quiet, f.inks.Paper, f.small*1.2, p.Fault.Error())
		}
	}
	if f.Focused {
		p.drawFocus()
	}
}

// Middle returns where the halves of a picture of height h meet.
func Middle(h, small float64) float64 { return mirror.Middle(h-mapHeight, small) }

// CaptionSize is the size of captions under a theme.
func CaptionSize(th fyne.Theme) float64 { return float64(th.Size(theme.SizeNameCaptionText)) }

// drawMap shows where in the take the view lies, once it is not all of it.
func (p *Picture) drawMap(f *frame) {
	v := f.View
	if v.All.Hi <= 0 || v.Width() >= v.All.Hi*0.999 {
		return
	}
	w, h := p.pen.Size()
	y0, y1 := h-mapHeight, h-2
	p.pen.Box(f.inks.Grid, 0, y0, w, y1)
	left, wide := v.All.X(v.Lo, 0, w), max(8, v.Width()/v.All.Hi*w)
	left = min(left, w-wide)
	p.pen.Box(f.inks.Mark, left, y0, left+wide, y1)
}

// drawCard says in words what is known of the pair pointed at, or of what is
// selected, right of the upper caption.
func (p *Picture) drawCard(f *frame, m *mirror.Trace, caption float64) {
	if f.Said == "" {
		return
	}
	lo, hi := f.Chosen.AtS, f.Chosen.AtS
	i, pairs := f.Hovered, f.Take.Pairs()
	if i == None || i >= len(pairs) {
		i = f.Selected
	}
	if i != None {
		lo, hi = mirror.Ends(pairs[i])
	}
	lines := p.pen.Wrap(f.small, f.Said, min(440, m.W-24))
	wide := 0.0
	for _, line := range lines {
		wide = max(wide, p.pen.TextWidth(f.small, false, line))
	}
	row := f.small * 1.4
	left := min(m.X((lo+hi)/2)-wide/2-9, m.W-wide-22)
	left = max(4, min(caption, m.W-wide-22), left)
	top := m.Top + 2
	bottom := top + row*float64(len(lines)) + 8
	p.pen.Card(f.inks.Quiet, left, top, left+wide+18, bottom, 5)
	p.pen.Card(f.inks.Paper, left+1, top+1, left+wide+17, bottom-1, 4)
	for k, line := range lines {
		p.pen.Text(f.inks.Text, left+9, top+4+row*(float64(k)+0.5), sketch.Left, f.small, false, line)
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
