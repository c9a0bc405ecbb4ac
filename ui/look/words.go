package look

import (
	"math"
	"strconv"

	"fyne.io/fyne/v2/lang"
)

// minus is an en dash: the toolkit's font has no true minus sign, and a hyphen
// is too short to be read from the crank.
const minus = "–"

// Lag writes a lag in ms with the word for its side, such as "12.4 ms late".
func Lag(ms float64) string {
	s := magnitude(ms)
	switch {
	case s == none:
		return s
	case ms > 0:
		return s + " " + lang.L("late")
	}
	return s + " " + lang.L("early")
}

// LagFigure writes a lag in ms with its sign, for where a word has no room.
func LagFigure(ms float64) string {
	s := magnitude(ms)
	switch {
	case s == none:
		return s
	case ms > 0:
		return "+" + s
	}
	return minus + s
}

// none is a lag too small to have a side.
const none = "0.0 ms"

func magnitude(ms float64) string { return strconv.FormatFloat(math.Abs(ms), 'f', 1, 64) + " ms" }

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
	switch {
	case steps > 0:
		return strconv.Itoa(steps) + " " + lang.L("ahead")
	case steps < 0:
		return strconv.Itoa(-steps) + " " + lang.L("back")
	}
	return lang.L("stay")
}
