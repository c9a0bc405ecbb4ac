package picture

import (
	"math"
)

// View is the stretch of the take in sight, in seconds. It never shows less than
// Least and never leaves the take.
type View struct {
	From, To float64
	Length   float64 // of the take
	Least    float64 // smallest stretch worth showing
}

// LeastFrames is how many frames a view shows at least.
const LeastFrames = 12

// Whole returns the view of an entire take of the given length at the given
// frames per second.
func Whole(length, rate float64) View {
	if !(rate > 0) || !(length > 0) {
		return View{}
	}
	return View{To: length, Length: length, Least: min(length, LeastFrames/rate)}
}

// Span returns the seconds in sight.
func (v View) Span() float64 { return v.To - v.From }

// Show returns the view of from to to as far as the take and Least allow.
func (v View) Show(from, to float64) View {
	if math.IsNaN(from) || math.IsNaN(to) {
		return v
	}
	if from > to {
		from, to = to, from
	}
	span := min(v.Length, max(v.Least, to-from))
	start := (from+to)/2 - span/2
	v.From = max(0, min(start, v.Length-span))
	v.To = v.From + span
	return v
}

// Zoom returns the view with factor times as many seconds in sight, the moment
// at staying where it is on the screen.
func (v View) Zoom(factor, at float64) View {
	if !(factor > 0) || v.Span() <= 0 {
		return v
	}
	span := min(v.Length, max(v.Least, v.Span()*factor))
	share := (at - v.From) / v.Span()
	v.From = max(0, min(at-share*span, v.Length-span))
	v.To = v.From + span
	return v
}

// Pan returns the view moved by the given seconds, stopping at the take's ends.
func (v View) Pan(by float64) View {
	span := v.Span()
	v.From = max(0, min(v.From+by, v.Length-span))
	v.To = v.From + span
	return v
}

// X returns where the moment at lies on a screen width wide.
func (v View) X(at, width float64) float64 {
	if v.Span() <= 0 {
		return 0
	}
	return (at - v.From) / v.Span() * width
}

// At returns the moment at x on a screen width wide.
func (v View) At(x, width float64) float64 {
	if width <= 0 {
		return v.From
	}
	return v.From + x/width*v.Span()
}
