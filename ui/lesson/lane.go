package lesson

import (
	"image/color"
	"math"

	"lagwright/plotting/sketch"
)

// Sizes of what is drawn on a lane, at the usual text.
const (
	headRadius = 5.0
	stem       = 15.0 // of a pin
	gap        = 22.0 // between the reference's line and the voice's
	laneHigh   = 2*stem + gap
	margin     = 12.0
)

// write draws words from x on, or centred on it or up to it, in the room there is:
// smaller where they would not fit, as in a language with longer words.
func (s *sheet) write(c color.Color, x, y float64, align sketch.Align, bold bool, room float64, words string) {
	s.Text(c, x, y, align, s.Fit(s.small, bold, words, room), bold, words)
}

// lines breaks words into at most so many lines, at the size at which they fit.
func (s *sheet) lines(words string, room float64, most int) (size float64, lines []string) {
	size = s.small
	for lines = s.Wrap(size, words, room); len(lines) > most && size > s.small*0.6; lines = s.Wrap(size, words, room) {
		size -= 0.25
	}
	return size, lines
}

// lane is a stretch of time drawn as the mirror trace draws it.
type lane struct {
	s            *sheet
	left, right  float64
	top, bottom  float64 // the lines of reference and voice
	fromMS, toMS float64
}

// lane begins one whose pins reach from y down.
func (s *sheet) lane(left, right, y, fromMS, toMS float64) lane {
	l := lane{s: s, left: left, right: right, top: y + stem*s.times, bottom: y + (stem+gap)*s.times, fromMS: fromMS, toMS: toMS}
	s.Level(sketch.Mix(s.inks.Paper, s.inks.Reference, 0.55), left, right, l.top, 1.5)
	s.Level(sketch.Mix(s.inks.Paper, s.inks.Voice, 0.55), left, right, l.bottom, 1.5)
	return l
}

// x returns where a moment lies.
func (l lane) x(ms float64) float64 {
	return l.left + (ms-l.fromMS)/(l.toMS-l.fromMS)*(l.right-l.left)
}

// beats draws the reference's hits, one a beat, one of them at 0.
func (l lane) beats(periodMS float64) {
	for n := math.Ceil(l.fromMS / periodMS); n*periodMS <= l.toMS; n++ {
		x := l.x(n * periodMS)
		l.s.Upright(l.s.inks.Reference, x, l.top-stem*l.s.times, l.top, 2)
		l.s.Disc(l.s.inks.Reference, x, l.top, headRadius*l.s.times)
	}
}

// strike draws a hit of the voice.
func (l lane) strike(ms float64) {
	x := l.x(ms)
	l.s.Upright(l.s.inks.Voice, x, l.bottom, l.bottom+stem*l.s.times, 2)
	l.s.Diamond(l.s.inks.Voice, x, l.bottom, (headRadius+1)*l.s.times)
}

// bracket joins a beat and a strike, and says what lies between them.
func (l lane) bracket(beatMS, strikeMS float64, words string) {
	s, a, b := l.s, l.x(beatMS), l.x(strikeMS)
	c := s.inks.Late
	if strikeMS < beatMS {
		c = s.inks.Early
	}
	middle := (l.top + l.bottom) / 2
	s.Bracket(c, s.inks.Paper, a, b, l.top, l.bottom, s.small*0.68)
	if s.TextWidth(s.small, true, words)+8 <= math.Abs(b-a) {
		s.Text(c, (a+b)/2, middle, sketch.Centre, s.small, true, words)
		return
	}
	s.write(c, max(a, b)+7*s.times, middle, sketch.Left, true, l.right-max(a, b)-7*s.times, words)
}

// release draws the moment the gate lets the ball go, and its fall to the strike.
func (l lane) release(ms, strikeMS float64) {
	s, x, y := l.s, l.x(ms), l.bottom
	s.Dashes(s.inks.Voice, 2, 4, sketch.Pt{X: x, Y: y}, sketch.Pt{X: l.x(strikeMS), Y: y})
	s.Disc(s.inks.Paper, x, y, headRadius*s.times)
	s.Ring(s.inks.Voice, x, y, (headRadius-1)*s.times, 2)
}

// arrow draws one along a line from x0 to x1 at y.
func (s *sheet) arrow(c color.Color, x0, x1, y float64) {
	way, head := math.Copysign(1, x1-x0), 8*s.times
	s.Level(c, min(x0, x1-way*head), max(x0, x1-way*head), y, 2)
	s.Shape(c, []sketch.Pt{{X: x1, Y: y}, {X: x1 - way*head, Y: y - head/2}, {X: x1 - way*head, Y: y + head/2}})
}
