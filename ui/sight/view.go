package sight

import (
	"math"

	"lagwright/plotting/sketch"
)

// View is the stretch of an axis in sight. It never shows less than Least and never
// leaves what there is.
type View struct {
	sketch.Span
	All   sketch.Span // what there is
	Least float64     // smallest stretch worth showing
}

// Whole returns the view of all there is; none where that makes no sense.
func Whole(all sketch.Span, least float64) View {
	if !(least > 0) || !(all.Width() > 0) {
		return View{}
	}
	return View{all, all, min(all.Width(), least)}
}

// Of returns the view of something else there is: of all of it, as before, or of what was
// in sight.
func (v View) Of(all sketch.Span, least float64) View {
	whole := Whole(all, least)
	if v.Span == v.All {
		return whole
	}
	return whole.Show(v.Lo, v.Hi)
}

// Show returns the view from one value to another as far as there is so much.
func (v View) Show(lo, hi float64) View {
	lo, hi = min(lo, hi), max(lo, hi)
	span := min(v.All.Width(), max(v.Least, hi-lo))
	return v.from((lo+hi)/2-span/2, span)
}

// Zoom returns the view with factor times as much in sight, the value at staying where it
// is on the screen.
func (v View) Zoom(factor, at float64) View {
	if !(factor > 0) || v.Width() <= 0 {
		return v
	}
	span := min(v.All.Width(), max(v.Least, v.Width()*factor))
	return v.from(at-v.X(at, 0, 1)*span, span)
}

// Pan returns the view moved by so much, stopping at the ends of what there is.
func (v View) Pan(by float64) View { return v.from(v.Lo+by, v.Width()) }

// from returns the view of so much from lo on, and v where lo is no number. That it shows all
// there is, or reaches its end, holds to the last bit: others go by it.
func (v View) from(lo, span float64) View {
	switch {
	case span >= v.All.Width():
		v.Span = v.All
	case !math.IsNaN(lo):
		v.Hi = min(v.All.Hi, max(v.All.Lo, lo)+span)
		v.Lo = max(v.All.Lo, v.Hi-span)
	}
	return v
}
