package plotting

import (
	"slices"

	"gonum.org/v1/plot/vg"
)

// placer finds room for labels. A label never covers a mark or another label;
// it avoids lines as long as there is anywhere else to go.
type placer struct {
	area  vg.Rectangle
	marks []vg.Rectangle
	lines []vg.Rectangle

	placed []vg.Rectangle // the labels among the marks
}

func (p *placer) mark(r vg.Rectangle) { p.marks = append(p.marks, r) }

// line keeps labels off the polyline.
func (p *placer) line(points []vg.Point) {
	for i := 1; i < len(points); i++ {
		p.lines = append(p.lines, around(points[i-1], points[i]))
	}
}

// place puts a label of the given size at the first lower-left corner that is
// free, and reserves the room. It reports false where there is none.
func (p *placer) place(size vg.Point, corners []vg.Point) (vg.Rectangle, bool) {
	for _, avoid := range [][]vg.Rectangle{p.lines, nil} {
		for _, corner := range corners {
			r := vg.Rectangle{Min: corner, Max: corner.Add(size)}
			if within(r, p.area) && !touches(r, p.marks) && !touches(r, avoid) {
				p.mark(r)
				p.placed = append(p.placed, r)
				return r, true
			}
		}
	}
	return vg.Rectangle{}, false
}

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

func around(a, b vg.Point) vg.Rectangle {
	return vg.Rectangle{
		Min: vg.Point{X: min(a.X, b.X), Y: min(a.Y, b.Y)},
		Max: vg.Point{X: max(a.X, b.X), Y: max(a.Y, b.Y)},
	}
}

// centred is the square of the given half width about a point.
func centred(at vg.Point, half vg.Length) vg.Rectangle {
	d := vg.Point{X: half, Y: half}
	return vg.Rectangle{Min: at.Sub(d), Max: at.Add(d)}
}

func within(r, area vg.Rectangle) bool {
	return r.Min.X >= area.Min.X && r.Max.X <= area.Max.X && r.Min.Y >= area.Min.Y && r.Max.Y <= area.Max.Y
}

func overlap(a, b vg.Rectangle) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}

func touches(r vg.Rectangle, taken []vg.Rectangle) bool {
	return slices.ContainsFunc(taken, func(t vg.Rectangle) bool { return overlap(r, t) })
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
