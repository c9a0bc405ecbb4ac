package plotting

import (
	"gonum.org/v1/plot/vg"

	"lagwright/plotting/sketch"
)

// placer is sketch.Placer in a page's lengths, y upward.
type placer struct{ sketch.Placer }

func placerOn(area vg.Rectangle) placer { return placer{sketch.Placer{Area: rect(area)}} }

func (p *placer) mark(r vg.Rectangle) { p.Mark(rect(r)) }

// around keeps labels off a mark that reaches so far to all sides.
func (p *placer) around(at vg.Point, half vg.Length) { p.Mark(sketch.About(pt(at), float64(half))) }

func (p *placer) line(points []vg.Point) {
	for i := 1; i < len(points); i++ {
		p.Line(pt(points[i-1]), pt(points[i]))
	}
}

// place puts a label at the first free one of the corners, each its lower left.
func (p *placer) place(size vg.Point, corners []vg.Point) (vg.Rectangle, bool) {
	at := make([]sketch.Pt, len(corners))
	for i, c := range corners {
		at[i] = pt(c)
	}
	r, ok := p.Place(float64(size.X), float64(size.Y), at...)
	corner := vg.Point{X: vg.Length(r.Min.X), Y: vg.Length(r.Min.Y)}
	return vg.Rectangle{Min: corner, Max: corner.Add(size)}, ok
}

func pt(p vg.Point) sketch.Pt { return sketch.Pt{X: float64(p.X), Y: float64(p.Y)} }

func rect(r vg.Rectangle) sketch.Rect { return sketch.Rect{Min: pt(r.Min), Max: pt(r.Max)} }

// beside lists the corners for a label next to a mark, the nicest first.
func beside(at vg.Point, gap vg.Length, size vg.Point) []vg.Point {
	var corners []vg.Point
	for _, far := range []vg.Length{1, 2.2} {
		g := gap * far
		left, right := at.X-g-size.X, at.X+g
		below, above := at.Y-g-size.Y, at.Y+g
		midX, midY := at.X-size.X/2, at.Y-size.Y/2
		corners = append(corners,
			vg.Point{X: right, Y: midY}, vg.Point{X: left, Y: midY},
			vg.Point{X: right, Y: above - g/2}, vg.Point{X: left, Y: above - g/2},
			vg.Point{X: right, Y: below + g/2}, vg.Point{X: left, Y: below + g/2},
			vg.Point{X: midX, Y: above}, vg.Point{X: midX, Y: below})
	}
	return corners
}

// spread moves ascending positions apart until neighbours are at least gap
// from each other, all between lo and hi, each as near to where it was as a
// push up and a push back allow. The caller sees to it that they fit.
func spread(at []vg.Length, gap, lo, hi vg.Length) {
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
