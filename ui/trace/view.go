package trace

import (
	"math"
)

// view is the stretch of the take in sight, in seconds. It never shows less than
// least and never leaves the take.
type view struct {
	from, to float64
	length   float64 // of the take
	least    float64 // smallest stretch worth showing
}

// leastFrames is how many frames a view shows at least.
const leastFrames = 12

// whole returns the view of an entire take of the given length at the given
// frames per second.
func whole(length, rate float64) view {
	if !(rate > 0) || !(length > 0) {
		return view{}
	}
	return view{to: length, length: length, least: min(length, leastFrames/rate)}
}

// span returns the seconds in sight.
func (v view) span() float64 { return v.to - v.from }

// show returns the view of from to to as far as the take and least allow.
func (v view) show(from, to float64) view {
	if math.IsNaN(from) || math.IsNaN(to) {
		return v
	}
	if from > to {
		from, to = to, from
	}
	span := min(v.length, max(v.least, to-from))
	start := (from+to)/2 - span/2
	v.from = max(0, min(start, v.length-span))
	v.to = v.from + span
	return v
}

// zoom returns the view with factor times as many seconds in sight, the moment
// at staying where it is on the screen.
func (v view) zoom(factor, at float64) view {
	if !(factor > 0) || v.span() <= 0 {
		return v
	}
	span := min(v.length, max(v.least, v.span()*factor))
	share := (at - v.from) / v.span()
	v.from = max(0, min(at-share*span, v.length-span))
	v.to = v.from + span
	return v
}

// pan returns the view moved by the given seconds, stopping at the take's ends.
func (v view) pan(by float64) view {
	span := v.span()
	v.from = max(0, min(v.from+by, v.length-span))
	v.to = v.from + span
	return v
}

// x returns where the moment at lies on a screen width wide.
func (v view) x(at, width float64) float64 {
	if v.span() <= 0 {
		return 0
	}
	return (at - v.from) / v.span() * width
}

// at returns the moment at x on a screen width wide.
func (v view) at(x, width float64) float64 {
	if width <= 0 {
		return v.from
	}
	return v.from + x/width*v.span()
}
