package sketch

import (
	"image/color"
	"math"
)

// Disc fills a circle.
func (p Pen) Disc(c color.Color, x, y, r float64) {
	p.Shape(c, p.arc(x, y, r, 0, 2*math.Pi))
}

// Ring strokes a circle; r is the radius of the stroke's middle.
func (p Pen) Ring(c color.Color, x, y, r, width float64) {
	inner := max(0, r-width/2)
	p.Shape(c, p.arc(x, y, r+width/2, 0, 2*math.Pi), p.arc(x, y, inner, 2*math.Pi, 0))
}

// Arc strokes part of a circle from one angle to another, in radians clockwise
// from straight up.
func (p Pen) Arc(c color.Color, x, y, r, width, from, to float64) {
	band := p.arc(x, y, r+width/2, from, to)
	p.Shape(c, append(band, p.arc(x, y, r-width/2, to, from)...))
}

// On returns the point at angle a (radians clockwise from straight up) and
// distance r from (x, y).
func On(x, y, r, a float64) Pt {
	return Pt{x + r*math.Sin(a), y - r*math.Cos(a)}
}

// arc returns points along part of a circle, close enough together that no
// corner shows at the pen's scale.
func (p Pen) arc(x, y, r, from, to float64) []Pt {
	n := 2 + int(math.Abs(to-from)*math.Sqrt(max(1, r/p.Grain()))*1.6)
	pts := make([]Pt, n+1)
	for i := range pts {
		pts[i] = On(x, y, r, from+(to-from)*float64(i)/float64(n))
	}
	return pts
}

// Diamond fills a square standing on its corner; r reaches to the corners.
func (p Pen) Diamond(c color.Color, x, y, r float64) {
	p.Shape(c, []Pt{{x, y - r}, {x + r, y}, {x, y + r}, {x - r, y}})
}

// Cross strokes an × reaching r from its middle.
func (p Pen) Cross(c color.Color, x, y, r, width float64) {
	p.Line(c, width, Pt{x - r, y - r}, Pt{x + r, y + r})
	p.Line(c, width, Pt{x - r, y + r}, Pt{x + r, y - r})
}

// Card fills a rectangle with round corners.
func (p Pen) Card(c color.Color, x0, y0, x1, y1, r float64) {
	r = max(0, min(r, (x1-x0)/2, (y1-y0)/2))
	quarter := math.Pi / 2
	var pts []Pt
	pts = append(pts, p.arc(x1-r, y0+r, r, 0, quarter)...)
	pts = append(pts, p.arc(x1-r, y1-r, r, quarter, 2*quarter)...)
	pts = append(pts, p.arc(x0+r, y1-r, r, 2*quarter, 3*quarter)...)
	pts = append(pts, p.arc(x0+r, y0+r, r, 3*quarter, 4*quarter)...)
	p.Shape(c, pts)
}

// HeadRadius is that of a pin's head in a mirror trace.
const HeadRadius = 4.5

// Bracket draws what joins a reference hit on one line to a voice hit on another, twice
// half high in the middle between them.
func (p Pen) Bracket(c, paper color.Color, referenceX, voiceX, top, bottom, half float64) {
	w, _ := p.Size()
	lo, hi, middle := min(referenceX, voiceX), max(referenceX, voiceX), (top+bottom)/2
	p.Box(Mix(paper, c, 0.18), max(lo, -9), middle-half, min(hi, w+9), middle+half)
	p.Level(c, lo, hi, middle-half, 1.5)
	p.Level(c, lo, hi, middle+half, 1.5)
	p.Upright(c, referenceX, top+HeadRadius, middle+half, 2)
	p.Upright(c, voiceX, middle-half, bottom-HeadRadius, 2)
}
