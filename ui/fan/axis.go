package fan

import (
	"math"
	"strconv"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/ui/look/ink"
)

// axis is the scale of lags in sight, in ms. Zero always lies on it.
type axis struct{ lo, hi float64 }

// leastReach is how far the axis goes from zero to either side at least, in ms:
// a tight reading must look tight.
const leastReach = 10

// axisOf returns an axis that shows zero, the tolerance, the interval and all used
// lags with some room. Pairs that were left out do not stretch it: theirs may lie
// anywhere.
func axisOf(r *calib.Reading, tolerance float64) axis {
	reach := max(leastReach, tolerance*1.15)
	a := axis{-reach, reach}
	for _, p := range r.Pairs {
		if p.Used {
			a.include(p.LagMS)
		}
	}
	a.include(r.LagCI95MS[0])
	a.include(r.LagCI95MS[1])
	room := (a.hi - a.lo) * 0.06
	return axis{a.lo - room, a.hi + room}
}

// include widens the axis to show v, unless v is not a finite number.
func (a *axis) include(v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return
	}
	a.lo, a.hi = min(a.lo, v), max(a.hi, v)
}

// x returns where a lag lies on a picture from left to right.
func (a axis) x(ms, left, right float64) float64 {
	return left + (ms-a.lo)/(a.hi-a.lo)*(right-left)
}

// mark is one labelled lag of the axis.
type mark struct {
	at    float64
	label string
}

// marks returns about most labelled lags on round numbers, zero among them.
func (a axis) marks(most int) []mark {
	step := ink.RoundStep((a.hi - a.lo) / float64(max(1, most)))
	var all []mark
	for i := math.Ceil(a.lo / step); i*step <= a.hi; i++ {
		all = append(all, mark{i * step, figure(i*step, step)})
	}
	return all
}

// figure writes a lag with its sign as exactly as the step needs.
func figure(ms, step float64) string {
	s := i18n.Decimal(strconv.FormatFloat(math.Abs(ms), 'f', ink.Decimals(step), 64))
	switch {
	case ms > step/2:
		return "+" + s
	case ms < -step/2:
		return "–" + s
	}
	return "0"
}
