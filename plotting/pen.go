package plotting

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
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
	size  vg.Length
	bold  bool
	color color.NRGBA
}

func (l lettering) font() font.Font {
	f := faces().of
	f.Size = l.size
	if l.bold {
		f.Weight = xfont.WeightBold
	}
	return f
}

func (l lettering) face() font.Face { return faces().cache.Lookup(l.font(), l.size) }

func (l lettering) width(s string) vg.Length {
	face := l.face()
	return face.Width(s)
}

// cap is the height of a digit.
func (l lettering) cap() vg.Length { return l.size * capHeight }

// style is the same lettering in gonum/plot's terms, for axes.
func (l lettering) style(x text.XAlignment, y text.YAlignment) text.Style {
	return text.Style{Color: l.color, Font: l.font(), XAlign: x, YAlign: y, Handler: text.Plain{Fonts: faces().cache}}
}

// fit shortens s with an ellipsis until it is no wider than width.
func (l lettering) fit(s string, width vg.Length) string {
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
func (l lettering) shrunk(s string, width vg.Length) lettering {
	if w := l.width(s); w > width && w > 0 {
		l.size *= max(width/w, 0.01)
	}
	return l
}

// wrap breaks s into lines no wider than width.
func (l lettering) wrap(s string, width vg.Length) []string {
	return sketch.Wrap(s, float64(width), func(s string) float64 { return float64(l.width(s)) })
}

// pen draws on a rectangle of a canvas; y grows upward.
type pen struct{ draw.Canvas }

// crop returns a pen for the part left after taking the margins off.
func (p pen) crop(left, right, bottom, top vg.Length) pen {
	return pen{draw.Crop(p.Canvas, left, -right, bottom, -top)}
}

// text writes s with its baseline at y; align 0 starts at x, 0.5 is centred on x, 1 ends at x.
func (p pen) text(s string, l lettering, x, y, align vg.Length) {
	if s == "" || l.size <= 0 {
		return
	}
	face := l.face()
	p.SetColor(l.color)
	p.FillString(face, vg.Point{X: x - align*face.Width(s), Y: y}, s)
}

func (p pen) line(c color.NRGBA, width, x0, y0, x1, y1 vg.Length, dashes ...vg.Length) {
	p.StrokeLine2(draw.LineStyle{Color: c, Width: width, Dashes: dashes}, x0, y0, x1, y1)
}

func (p pen) fillRect(c color.NRGBA, x0, y0, x1, y1 vg.Length) {
	p.FillPolygon(c, []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}})
}

func (p pen) disc(c color.NRGBA, at vg.Point, radius vg.Length) {
	p.SetColor(c)
	p.Fill(circle(at, radius))
}

func (p pen) ring(c color.NRGBA, width vg.Length, at vg.Point, radius vg.Length) {
	p.SetLineStyle(draw.LineStyle{Color: c, Width: width})
	p.Stroke(circle(at, radius))
}

// circle is a closed path of short chords: vgpdf draws a whole-circle arc twice.
func circle(at vg.Point, radius vg.Length) vg.Path { return polygon(at, radius, 48, 0) }

// polygon is a regular polygon, its first corner at the angle given.
func polygon(at vg.Point, radius vg.Length, corners int, turn float64) vg.Path {
	var path vg.Path
	for i := range corners {
		corner := at.Add(polar(radius, turn+2*math.Pi*float64(i)/float64(corners)))
		if i == 0 {
			path.Move(corner)
		} else {
			path.Line(corner)
		}
	}
	path.Close()
	return path
}

// polar is the point at the given distance and angle (radians from the x axis,
// anticlockwise) from the origin.
func polar(radius vg.Length, angle float64) vg.Point {
	sin, cos := math.Sincos(angle)
	return vg.Point{X: radius * vg.Length(cos), Y: radius * vg.Length(sin)}
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

// signed writes a setting or a move: "+12", "0", "−5".
func signed(n int) string {
	if n == 0 {
		return "0"
	}
	return strings.Replace(fmt.Sprintf("%+d", n), "-", minus, 1)
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
