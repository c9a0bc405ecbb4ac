package sketch

import (
	"image/color"
	"math"

	"lagwright/calib/i18n"
)

// Pt is a point; y runs downward.
type Pt struct{ X, Y float64 }

// Align says which part of a text stands at the x it is given.
type Align int

// The parts of a text that can stand at its x.
const (
	Left Align = iota
	Centre
	Right
)

// Surface is what can be drawn on: an image in the window, or a page. Whatever
// falls outside is cut off.
type Surface interface {
	Size() (w, h float64)
	Grain() float64 // the least length that shows, such as a device pixel

	// Box fills the rectangle from (x0, y0) to (x1, y1), its edges moved to whole
	// grains.
	Box(c color.Color, x0, y0, x1, y1 float64)
	// Shape fills the polygons with smooth edges. Where one polygon runs the other
	// way round inside another it cuts a hole.
	Shape(c color.Color, polygons ...[]Pt)
	// Text draws s in one line of the given size, vertically centred on y, and
	// returns its width.
	Text(c color.Color, x, y float64, align Align, size float64, bold bool, s string) float64
	TextWidth(size float64, bold bool, s string) float64
}

// Pen draws lines and shapes on a surface.
type Pen struct{ Surface }

// Upright draws a crisp vertical line of the given width centred on x.
func (p Pen) Upright(c color.Color, x, y0, y1, width float64) {
	left, right := p.rule(x, width)
	p.Box(c, left, y0, right, y1)
}

// Level draws a crisp horizontal line of the given width centred on y.
func (p Pen) Level(c color.Color, x0, x1, y, width float64) {
	top, bottom := p.rule(y, width)
	p.Box(c, x0, top, x1, bottom)
}

// rule returns the edges of a line of whole grains, one at least, centred on at.
func (p Pen) rule(at, width float64) (from, to float64) {
	grain := p.Grain()
	n := max(1, math.Round(width/grain))
	from = math.Round(at/grain-n/2) * grain
	return from, from + n*grain
}

// Line strokes the points with butt ends and a smooth edge.
func (p Pen) Line(c color.Color, width float64, pts ...Pt) {
	for i := 1; i < len(pts); i++ {
		if quad := segment(pts[i-1], pts[i], width); quad != nil {
			p.Shape(c, quad)
		}
	}
}

// Dashes strokes the straight line from a to b in dashes of the given length,
// with gaps as long.
func (p Pen) Dashes(c color.Color, width, dash float64, a, b Pt) {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length == 0 || dash <= 0 {
		return
	}
	ux, uy := (b.X-a.X)/length, (b.Y-a.Y)/length
	for at := 0.0; at < length; at += 2 * dash {
		end := min(length, at+dash)
		p.Line(c, width, Pt{a.X + ux*at, a.Y + uy*at}, Pt{a.X + ux*end, a.Y + uy*end})
	}
}

// segment returns the rectangle that strokes a to b, or nil for no length.
func segment(a, b Pt, width float64) []Pt {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	if length == 0 {
		return nil
	}
	nx, ny := -(b.Y-a.Y)/length*width/2, (b.X-a.X)/length*width/2
	return []Pt{{a.X + nx, a.Y + ny}, {b.X + nx, b.Y + ny}, {b.X - nx, b.Y - ny}, {a.X - nx, a.Y - ny}}
}

// Fit returns size, or the smaller one at which s is no wider than wide.
func (p Pen) Fit(size float64, bold bool, s string, wide float64) float64 {
	if w := p.TextWidth(size, bold, s); w > wide {
		return size * wide / w
	}
	return size
}

// Sentence writes a sentence on a card in the middle of the surface, in lines of about the
// same length.
func (p Pen) Sentence(c, paper color.Color, size float64, sentence string) {
	w, h := p.Size()
	across := min(560, w-40)
	lines := p.Wrap(size, sentence, across)
	for narrower := lines; len(narrower) == len(lines) && across > 20*size; narrower = p.Wrap(size, sentence, across) {
		lines, across = narrower, across*0.96
	}
	row, wide := size*1.5, 0.0
	for _, line := range lines {
		wide = max(wide, min(w, p.TextWidth(size, false, line)+2*size))
	}
	top := h/2 - row*float64(len(lines))/2
	p.Card(paper, w/2-wide/2, top-6, w/2+wide/2, h-top+6, 6)
	for i, line := range lines {
		p.Text(c, w/2, top+row*(float64(i)+0.5), Centre, size, false, line)
	}
}

// Wrap breaks a sentence where lines may break into lines at most wide, except for
// words that are wider on their own.
func (p Pen) Wrap(size float64, sentence string, wide float64) []string {
	return Wrap(sentence, wide, func(s string) float64 { return p.TextWidth(size, false, s) })
}

// Wrap breaks a sentence where lines may break, and between the characters of
// scripts without spaces, into lines that measure at most wide, except for words
// that are wider on their own.
func Wrap(sentence string, wide float64, measure func(string) float64) []string {
	var lines []string
	line := ""
	for _, piece := range i18n.Pieces(sentence) {
		longer := piece.After(line)
		if line != "" && measure(longer) > wide {
			lines, longer = append(lines, line), piece.Text
		}
		line = longer
	}
	return append(lines, line)
}
