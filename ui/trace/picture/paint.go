// Package picture draws the mirror trace: both waveforms, their hits as pins, and the
// pairs as brackets in the lane between them.
//
// Times are in seconds from the start of the take, lags in milliseconds, positions in
// device-independent pixels.
package picture

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
	"lagwright/plotting/wave"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
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
	View              View
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
	channel channel
}

// Draw draws it with a pen, from the paper up.
func (p *Picture) Draw(pen *ink.Pen, s State) {
	f := &frame{State: s, w: pen.Img.Rect.Dx(), scale: pen.Scale, inks: look.Inks(pen.Theme), small: CaptionSize(pen.Theme)}
	p.pen, p.channel.pen = pen, pen
	p.pen.Clear(f.inks.Paper)
	if f.Take == nil {
		w, h := pen.Size()
		pen.Level(f.inks.Grid, 0, w, h/2, 1)
		pen.Sentence(f.inks.Quiet, f.inks.Paper, f.small*1.2, f.Said)
	} else {
		_, h := p.pen.Size()
		m := mirror.New(p.pen.Pen, f.inks, f.small, h-mapHeight, sketch.Span{Lo: f.View.From, Hi: f.View.To}, f.Take.Reading)
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
	if v.Length <= 0 || v.Span() >= v.Length*0.999 {
		return
	}
	w, h := p.pen.Size()
	y0, y1 := h-mapHeight, h-2
	p.pen.Box(f.inks.Grid, 0, y0, w, y1)
	left, wide := v.From/v.Length*w, max(8, v.Span()/v.Length*w)
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
