package look

import (
	"math"
	"strconv"

	"lagwright/calib/i18n"
)

// minus is an en dash: the toolkit's font has no true minus sign, and a hyphen
// is too short to be read from the crank.
const minus = "–"

// Lag writes a lag in ms with the word for its side, such as "12.4 ms late".
func Lag(ms float64) string {
	if sideless(ms) {
		return i18n.F("%.1f ms", 0.0)
	}
	return i18n.Way(ms, "%.1f ms late", "%.1f ms early")
}

// LagFigure writes a lag in ms with its sign, for where a word has no room.
func LagFigure(ms float64) string {
	s := i18n.F("%.1f ms", math.Abs(ms))
	switch {
	case sideless(ms):
		return s
	case ms > 0:
		return "+" + s
	}
	return minus + s
}

// sideless reports whether a lag is too small to have a side.
func sideless(ms float64) bool { return strconv.FormatFloat(math.Abs(ms), 'f', 1, 64) == "0.0" }

// Setting writes a setting in steps with its sign, such as "+14".
func Setting(steps int) string {
	switch {
	case steps > 0:
		return "+" + strconv.Itoa(steps)
	case steps < 0:
		return minus + strconv.Itoa(-steps)
	}
	return "0"
}

// Move writes a move of the index plate in words, such as "6 ahead"; "stay" for
// none.
func Move(steps int) string {
	if steps == 0 {
		return i18n.L("stay")
	}
	return i18n.Way(steps, "%d ahead", "%d back")
}
