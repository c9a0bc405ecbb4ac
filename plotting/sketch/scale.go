package sketch

import (
	"math"
	"strconv"

	"lagwright/calib/i18n"
)

// Span is a finite stretch of an axis.
type Span struct{ Lo, Hi float64 }

// Width is how long the span is.
func (s Span) Width() float64 { return s.Hi - s.Lo }

// Contains reports whether v lies in the span.
func (s Span) Contains(v float64) bool { return v >= s.Lo && v <= s.Hi }

// Clamp returns v, or the end of the span that it lies beyond.
func (s Span) Clamp(v float64) float64 { return math.Min(math.Max(v, s.Lo), s.Hi) }

// Padded widens the span by a share of its width on either side.
func (s Span) Padded(share float64) Span {
	by := s.Width() * share
	return Span{s.Lo - by, s.Hi + by}
}

// Include widens the span to hold the values; what is not finite changes nothing.
func (s Span) Include(values ...float64) Span {
	for _, v := range values {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			s.Lo, s.Hi = math.Min(s.Lo, v), math.Max(s.Hi, v)
		}
	}
	return s
}

// X is where v lies on an axis from left to right.
func (s Span) X(v, left, right float64) float64 {
	if s.Width() <= 0 {
		return left
	}
	return left + (v-s.Lo)/s.Width()*(right-left)
}

// At is the value at x on an axis from left to right.
func (s Span) At(x, left, right float64) float64 {
	if left == right {
		return s.Lo
	}
	return s.Lo + (x-left)/(right-left)*s.Width()
}

// Tick is one labelled value of an axis.
type Tick struct {
	At    float64
	Label string
}

// Ticks returns about most labelled values on round numbers with their signs, zero
// among them where it is in the span; none for a span that makes no sense.
func (s Span) Ticks(most int) []Tick {
	width := s.Width()
	if !(width > 1e-9 && width < 1e12) {
		return nil
	}
	step := RoundStep(width / float64(max(1, most)))
	var all []Tick
	first := math.Ceil(s.Lo / step)
	for i := 0.0; (first+i)*step <= s.Hi && i < width/step+1; i++ { // counted, so that it ends whatever the numbers
		at := (first + i) * step
		all = append(all, Tick{at, Signed(at, step)})
	}
	return all
}

// Signed writes a value with its sign as exactly as the step needs.
func Signed(v, step float64) string {
	s := i18n.Decimal(strconv.FormatFloat(math.Abs(v), 'f', Decimals(step), 64))
	switch {
	case v > step/2:
		return "+" + s
	case v < -step/2:
		return "\u2212" + s
	}
	return "0"
}

// RoundStep returns the smallest of 1, 2 or 5 times a power of ten that is at
// least least, which must be positive.
func RoundStep(least float64) float64 {
	exponent := int(math.Floor(math.Log10(least)))
	for _, m := range []float64{1, 2, 5} {
		if s := scale10(m, exponent); s >= least*(1-1e-9) {
			return s
		}
	}
	return scale10(10, exponent)
}

// scale10 returns m times ten to the given power, exact where division is.
func scale10(m float64, power int) float64 {
	if power < 0 {
		return m / math.Pow10(-power)
	}
	return m * math.Pow10(power)
}

// Decimals returns how many decimal places tell multiples of step apart.
func Decimals(step float64) int {
	return max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}
