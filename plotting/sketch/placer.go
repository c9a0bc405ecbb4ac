package sketch

// Rect is a rectangle from its least to its greatest corner.
type Rect struct{ Min, Max Pt }

// About is the square of the given half side about a point.
func About(at Pt, half float64) Rect {
	return Rect{Pt{at.X - half, at.Y - half}, Pt{at.X + half, at.Y + half}}
}

// Within reports whether r lies in area.
func (r Rect) Within(area Rect) bool {
	return r.Min.X >= area.Min.X && r.Max.X <= area.Max.X && r.Min.Y >= area.Min.Y && r.Max.Y <= area.Max.Y
}

// Overlaps reports whether the rectangles have room in common.
func (r Rect) Overlaps(o Rect) bool {
	return r.Min.X < o.Max.X && o.Min.X < r.Max.X && r.Min.Y < o.Max.Y && o.Min.Y < r.Max.Y
}

// crosses reports whether the stretch from a to b passes through r.
func (r Rect) crosses(a, b Pt) bool {
	if max(a.X, b.X) <= r.Min.X || min(a.X, b.X) >= r.Max.X || max(a.Y, b.Y) <= r.Min.Y || min(a.Y, b.Y) >= r.Max.Y {
		return false
	}
	from, to := 0.0, 1.0
	for _, side := range [2][4]float64{{a.X, b.X, r.Min.X, r.Max.X}, {a.Y, b.Y, r.Min.Y, r.Max.Y}} {
		at, way, lo, hi := side[0], side[1]-side[0], side[2], side[3]
		if way == 0 {
			continue // between the edges, as seen above
		}
		enter, leave := (lo-at)/way, (hi-at)/way
		from, to = max(from, min(enter, leave)), min(to, max(enter, leave))
	}
	return from < to
}

// Placer finds room for labels. A label never covers a mark or another label; it
// avoids lines as long as there is anywhere else to go.
type Placer struct {
	Area   Rect
	Placed []Rect // the labels

	marks []Rect
	lines [][2]Pt
}

// Mark keeps labels off a rectangle.
func (p *Placer) Mark(r Rect) { p.marks = append(p.marks, r) }

// Line keeps labels off a line, if they can do so.
func (p *Placer) Line(points ...Pt) {
	for i := 1; i < len(points); i++ {
		p.lines = append(p.lines, [2]Pt{points[i-1], points[i]})
	}
}

// Place puts a label of the given size at the first of the corners that is free,
// each its corner of least x and y, and reserves the room. It reports false where
// there is none.
func (p *Placer) Place(w, h float64, corners ...Pt) (Rect, bool) {
	if r, ok := p.PlaceClear(w, h, corners...); ok {
		return r, true
	}
	return p.place(w, h, corners, nil)
}

// PlaceClear is Place for a label that lies over no line either.
func (p *Placer) PlaceClear(w, h float64, corners ...Pt) (Rect, bool) {
	return p.place(w, h, corners, p.lines)
}

func (p *Placer) place(w, h float64, corners []Pt, lines [][2]Pt) (Rect, bool) {
	for _, corner := range corners {
		r := Rect{corner, Pt{corner.X + w, corner.Y + h}}
		if p.free(r, lines) {
			p.Mark(r)
			p.Placed = append(p.Placed, r)
			return r, true
		}
	}
	return Rect{}, false
}

func (p *Placer) free(r Rect, lines [][2]Pt) bool {
	if !r.Within(p.Area) {
		return false
	}
	for _, m := range p.marks {
		if r.Overlaps(m) {
			return false
		}
	}
	for _, l := range lines {
		if r.crosses(l[0], l[1]) {
			return false
		}
	}
	return true
}
