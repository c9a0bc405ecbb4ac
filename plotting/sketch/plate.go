package sketch

import (
	"math"
	"strconv"
)

// Plate is the index plate as it is drawn: 0 on top, ahead clockwise, one notch a step.
type Plate struct {
	Notches int // in a turn; 0 = not known
}

// drawnTurn is the steps in a turn of a plate whose notches are not known.
const drawnTurn = 100

// PerTurn is how many steps make a turn of the picture.
func (p Plate) PerTurn() int {
	if p.Notches <= 0 {
		return drawnTurn
	}
	return min(p.Notches, 1e6) // nobody tells more apart
}

// Angle is where a setting lies, in radians clockwise from the top; beyond a turn it
// goes on.
func (p Plate) Angle(setting float64) float64 {
	return 2 * math.Pi * setting / float64(p.PerTurn())
}

// Stride is how many steps lie from one drawn notch to the next on a rim of the given
// radius, so that each has room, and from one long notch to the next: a power of ten.
func (p Plate) Stride(radius float64) (each, long int) {
	each = 10
	if p.Notches > 0 {
		each = max(1, int(RoundStep(float64(p.PerTurn())/max(1, 2*math.Pi*radius/5))))
	}
	return each, int(math.Pow10(len(strconv.Itoa(each))))
}

// How far in the notches reach, as shares of the radius.
const (
	shortNotch = 0.93
	longNotch  = 0.88
)

// Draw draws the plate with its notches, lines of the given width, about a point.
func (p Plate) Draw(pen Pen, inks Inks, x, y, radius, width float64) {
	pen.Disc(Mix(inks.Paper, inks.Mark, 0.17), x, y, radius)
	pen.Ring(Mix(inks.Paper, inks.Mark, 0.45), x, y, radius-width*0.6, width*1.2)
	each, long := p.Stride(radius)
	for i := 0; i < p.PerTurn(); i += each {
		inner, wide := shortNotch, width
		if i%long == 0 {
			inner, wide = longNotch, width*1.65
		}
		a := p.Angle(float64(i))
		pen.Line(Mix(inks.Paper, inks.Text, 0.72), wide, On(x, y, radius, a), On(x, y, radius*inner, a))
	}
}

// Move draws an arc with an arrow's head from one angle to another, of the given width
// and at most almost a turn long.
func (p Plate) Move(pen Pen, inks Inks, x, y, radius, width, from, to float64) {
	const most = 2 * math.Pi * 0.95 // the ends must stay apart
	sweep := max(-most, min(most, to-from))
	pen.Arc(inks.Mark, x, y, radius, width, from, from+sweep)
	length := min(3.25*width, math.Abs(sweep)*radius)
	back := from + sweep - math.Copysign(length/radius, sweep)
	pen.Shape(inks.Mark, []Pt{On(x, y, radius, from+sweep), On(x, y, radius+1.4*width, back), On(x, y, radius-1.4*width, back)})
}
