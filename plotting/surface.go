package plotting

import (
	"image/color"

	"gonum.org/v1/plot/vg"

	"lagwright/plotting/sketch"
)

// surface lets package sketch draw on a page, from the upper left corner of a pen's
// rectangle down.
type surface struct{ pen }

var _ sketch.Surface = surface{}

// sketch is the pen that package sketch draws with.
func (p pen) sketch() sketch.Pen { return sketch.Pen{Surface: surface{p}} }

func (s surface) Size() (w, h float64) {
	size := s.pen.Size()
	return float64(size.X), float64(size.Y)
}

// Grain is as fine as printers are.
func (s surface) Grain() float64 { return 0.25 }

func (s surface) Box(c color.Color, x0, y0, x1, y1 float64) {
	s.Shape(c, []sketch.Pt{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}})
}

func (s surface) Shape(c color.Color, polygons ...[]sketch.Pt) {
	var path vg.Path
	for _, polygon := range polygons {
		corners := make([]vg.Point, len(polygon))
		for i, pt := range polygon {
			corners[i] = s.at(pt.X, pt.Y)
		}
		corners = s.ClipPolygonXY(corners)
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
	s.SetColor(c)
	s.Fill(path)
}

func (s surface) Text(c color.Color, x, y float64, align sketch.Align, size float64, bold bool, words string) float64 {
	l := lettering{size: vg.Length(size), bold: bold, color: color.NRGBAModel.Convert(c).(color.NRGBA)}
	at := s.at(x, y)
	s.pen.text(words, l, at.X, at.Y-l.cap()/2, vg.Length(align)/2)
	return float64(l.width(words))
}

func (s surface) TextWidth(size float64, bold bool, words string) float64 {
	return float64(lettering{size: vg.Length(size), bold: bold}.width(words))
}

func (s surface) at(x, y float64) vg.Point {
	return vg.Point{X: s.Min.X + vg.Length(x), Y: s.Max.Y - vg.Length(y)}
}
