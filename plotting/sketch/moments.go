package sketch

import (
	"math"
	"strconv"
	"strings"

	"lagwright/calib/i18n"
)

// Moments returns labelled marks of a time axis in seconds, at most about most of them,
// on round times. Each label carries its unit: minutes and seconds for
// long stretches, seconds, or milliseconds from the start of the take.
func Moments(s Span, most int) []Tick {
	span := s.Width()
	if !(span > 0) || most < 1 || math.IsInf(span, 0) {
		return nil
	}
	step := momentStep(span / float64(most))
	var marks []Tick
	for i := math.Ceil(s.Lo/step-1e-9) + 0; i*step <= s.Hi+step*1e-9; i++ {
		marks = append(marks, Tick{i * step, moment(i*step, step)})
	}
	return marks
}

// minuteSteps are the round steps from ten seconds on, in seconds.
var minuteSteps = []float64{10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600}

// momentStep returns the smallest round step of at least least seconds.
func momentStep(least float64) float64 {
	if least > 5 {
		for _, s := range minuteSteps {
			if s >= least {
				return s
			}
		}
		return 3600 * math.Ceil(least/3600)
	}
	return RoundStep(least)
}

// moment writes the moment at (seconds) as exactly as steps of the given size
// need.
func moment(at, step float64) string {
	switch {
	case step >= 10:
		whole := int(math.Round(at))
		if whole < 60 {
			return i18n.F("%d s", whole)
		}
		return i18n.F("%d:%02d min", whole/60, whole%60)
	case step >= 0.1:
		return i18n.F("%.*f s", Decimals(step), at)
	}
	return i18n.F("%s ms", i18n.Decimal(thousands(strconv.FormatFloat(at*1000, 'f', Decimals(step*1000), 64))))
}

// thousands parts the digits before the point of a plain decimal number into
// groups of three.
func thousands(s string) string {
	whole, rest, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0 && whole[i-1] != '-'; i -= 3 {
		whole = whole[:i] + " " + whole[i:]
	}
	if rest == "" {
		return whole
	}
	return whole + "." + rest
}
