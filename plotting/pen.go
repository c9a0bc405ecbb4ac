package plotting

import (
	"image/color"
	"slices"
	"strconv"
	"strings"
	"unicode"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

const (
	minus     = "\u2212"
	capHeight = 0.69 // of Liberation Sans capitals and digits, in ems
	maxRunes  = 160  // longest name worth drawing
)

// lettering is how a piece of text looks.
type lettering struct {
	size  float64
	bold  bool
	color color.NRGBA
}

func (l lettering) face() font.Face {
	f := faces().of
	f.Size = vg.Length(l.size)
	if l.bold {
		f.Weight = xfont.WeightBold
	}
	return faces().cache.Lookup(f, f.Size)
}

func (l lettering) width(s string) float64 {
	face := l.face()
	return float64(face.Width(s))
}

// cap is the height of a digit.
func (l lettering) cap() float64 { return l.size * capHeight }

// fit shortens s with an ellipsis until it is no wider than width.
func (l lettering) fit(s string, width float64) string {
	if l.width(s) <= width+0.1 { // a shrunk text fits to rounding
		return s
	}
	for runes := []rune(s); len(runes) > 0; runes = runes[:len(runes)-1] {
		short := strings.TrimRight(string(runes), " ") + "…"
		if l.width(short) <= width {
			return short
		}
	}
	return ""
}

// shrunk returns the lettering, made smaller if s would be wider than width.
func (l lettering) shrunk(s string, width float64) lettering {
	if w := l.width(s); w > width && w > 0 {
		l.size *= max(width/w, 0.01)
	}
	return l
}

// wrap breaks s into lines no wider than width.
func (l lettering) wrap(s string, width float64) []string { return sketch.Wrap(s, width, l.width) }

// pen draws on a rectangle of a page, from its upper left corner, y downward, in points.
type pen struct {
	sketch.Pen
	surface
}

// penOn is the pen for a canvas.
func penOn(c draw.Canvas) pen {
	size := c.Size()
	s := surface{c, float64(size.X), float64(size.Y)}
	return pen{sketch.Pen{Surface: s}, s}
}

// crop returns a pen for the part left after taking the margins off.
func (p pen) crop(left, right, bottom, top float64) pen {
	return penOn(draw.Crop(p.on, vg.Length(left), -vg.Length(right), vg.Length(bottom), -vg.Length(top)))
}

// surface is what a pen draws on.
type surface struct {
	on   draw.Canvas
	w, h float64
}

var _ sketch.Surface = surface{}

func (s surface) Size() (w, h float64) { return s.w, s.h }

// Grain is as fine as printers are.
func (s surface) Grain() float64 { return 0.25 }

func (s surface) Box(c color.Color, x0, y0, x1, y1 float64) {
	s.Shape(c, []sketch.Pt{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}})
}

func (s surface) Shape(c color.Color, polygons ...[]sketch.Pt) {
	var path vg.Path
	for _, polygon := range polygons {
		corners := s.on.ClipPolygonXY(s.points(polygon))
		for i, at := range corners {
			if i == 0 {
				path.Move(at)
			} else {
				path.Line(at)
			}
		}
		if len(corners) > 0 { // a path that closes without a place to begin is no PDF
			path.Close()
		}
	}
	s.on.SetColor(c)
	s.on.Fill(path)
}

func (s surface) Text(c color.Color, x, y float64, align sketch.Align, size float64, bold bool, words string) float64 {
	l := lettering{size, bold, color.NRGBAModel.Convert(c).(color.NRGBA)}
	s.text(words, l, x, y+l.cap()/2, float64(align)/2)
	return l.width(words)
}

func (s surface) TextWidth(size float64, bold bool, words string) float64 {
	return lettering{size: size, bold: bold}.width(words)
}

// text writes words with their baseline at y; align 0 starts at x, 0.5 is centred on x, 1 ends
// at x. It may lie beside the rectangle.
func (s surface) text(words string, l lettering, x, y, align float64) {
	if words == "" || l.size <= 0 {
		return
	}
	s.on.SetColor(l.color)
	s.on.FillString(l.face(), s.points([]sketch.Pt{{X: x - align*l.width(words), Y: y}})[0], words)
}

// line draws one, beyond the rectangle too.
func (s surface) line(c color.NRGBA, width, x0, y0, x1, y1 float64, dashes ...vg.Length) {
	at := s.points([]sketch.Pt{{X: x0, Y: y0}, {X: x1, Y: y1}})
	s.on.StrokeLines(draw.LineStyle{Color: c, Width: vg.Length(width), Dashes: dashes}, at)
}

// stroke draws lines from point to point within the rectangle.
func (s surface) stroke(c color.NRGBA, width float64, dashes []vg.Length, through []sketch.Pt) {
	s.on.StrokeLines(draw.LineStyle{Color: c, Width: vg.Length(width), Dashes: dashes}, s.on.ClipLinesXY(s.points(through))...)
}

// outline draws round the rectangle.
func (s surface) outline(c color.NRGBA, width float64, dashes ...vg.Length) {
	at := s.points([]sketch.Pt{{}, {X: s.w}, {X: s.w, Y: s.h}, {Y: s.h}, {}})
	s.on.StrokeLines(draw.LineStyle{Color: c, Width: vg.Length(width), Dashes: dashes}, at)
}

// points are places on the canvas, where y grows upward.
func (s surface) points(pts []sketch.Pt) []vg.Point {
	at := make([]vg.Point, len(pts))
	for i, p := range pts {
		at[i] = vg.Point{X: s.on.Min.X + vg.Length(p.X), Y: s.on.Max.Y - vg.Length(p.Y)}
	}
	return at
}

// room is where labels on the rectangle go.
func (s surface) room() sketch.Placer {
	return sketch.Placer{Area: sketch.Rect{Max: sketch.Pt{X: s.w, Y: s.h}}}
}

// beside lists the corners for a label of a size next to a mark, the nicest first.
func beside(at sketch.Pt, gap, wide, high float64) []sketch.Pt {
	var corners []sketch.Pt
	for _, far := range []float64{1, 2.2} {
		g := gap * far
		left, right := at.X-g-wide, at.X+g
		above, below := at.Y-g-high, at.Y+g
		midX, midY := at.X-wide/2, at.Y-high/2
		corners = append(corners,
			sketch.Pt{X: right, Y: midY}, sketch.Pt{X: left, Y: midY},
			sketch.Pt{X: right, Y: above + g/2}, sketch.Pt{X: left, Y: above + g/2},
			sketch.Pt{X: right, Y: below - g/2}, sketch.Pt{X: left, Y: below - g/2},
			sketch.Pt{X: midX, Y: above}, sketch.Pt{X: midX, Y: below})
	}
	return corners
}

// spread moves ascending positions apart until neighbours are at least gap
// from each other, all between lo and hi, each as near to where it was as a
// push up and a push back allow. The caller sees to it that they fit.
func spread(at []float64, gap, lo, hi float64) {
	for i := range at {
		at[i] = max(at[i], lo)
		if i > 0 {
			at[i] = max(at[i], at[i-1]+gap)
		}
	}
	for i := len(at) - 1; i >= 0; i-- {
		at[i] = min(at[i], hi)
		if i < len(at)-1 {
			at[i] = min(at[i], at[i+1]-gap)
		}
	}
}

// oneLine makes text of any origin fit for lines of any format.
func oneLine(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r) || r == '\u2028' || r == '\u2029':
			return ' '
		case r == '\uFFFE' || r == '\uFFFF' || r == unicode.ReplacementChar:
			return '?'
		}
		return r
	}, strings.ToValidUTF8(s, "?")))
}

// clean is oneLine cut where nobody would read on.
func clean(s string) string {
	s = oneLine(s)
	if runes := []rune(s); len(runes) > maxRunes {
		s = string(runes[:maxRunes]) + "…"
	}
	return s
}

// decimal writes v with the given number of decimals and a real minus sign.
func decimal(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return i18n.Decimal(strings.Replace(s, "-", minus, 1))
}

// compact writes v with at most one decimal: "6", "2.5".
func compact(v float64) string {
	return strings.TrimSuffix(decimal(v, 1), i18n.Decimal(".0"))
}

// full returns the parts that are not empty.
func full(parts ...string) []string {
	return slices.DeleteFunc(slices.Clone(parts), func(s string) bool { return s == "" })
}

// joined puts a middle dot between the parts that are not empty.
func joined(parts ...string) string { return strings.Join(full(parts...), " · ") }
