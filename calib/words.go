package calib

import (
	"fmt"
	"math"
	"strings"

	"lagwright/calib/i18n"
)

// TurnWords says a move in words, which bring hands near the crank: "Stop the crank, then
// turn the plate 6 steps ahead".
func TurnWords(steps int) string {
	if steps == 0 {
		return i18n.L("Leave the plate")
	}
	return i18n.Turn(steps, "Stop the crank, then turn the plate %d step ahead", "Stop the crank, then turn the plate %d steps ahead",
		"Stop the crank, then turn the plate %d step back", "Stop the crank, then turn the plate %d steps back")
}

// TurnAtRest says a move that is not 0 where no caution stands beside it: "Stop the crank,
// wait for rest, then turn the plate 6 steps ahead".
func TurnAtRest(steps int) string {
	return i18n.Turn(steps, "Stop the crank, wait for rest, then turn the plate %d step ahead", "Stop the crank, wait for rest, then turn the plate %d steps ahead",
		"Stop the crank, wait for rest, then turn the plate %d step back", "Stop the crank, wait for rest, then turn the plate %d steps back")
}

// SettingWords says a setting with its sign: "+6", "0", "−2".
func SettingWords(setting int) string {
	switch {
	case setting > 0:
		return fmt.Sprintf("+%d", setting)
	case setting < 0:
		return fmt.Sprintf("−%d", -setting)
	}
	return "0"
}

// Seems says a lag as it seems: "12.3 ms late", or "to be on the beat".
func Seems(lagMS float64) string {
	if words := LateEarly(lagMS); words != i18n.F("%.1f ms", math.Abs(lagMS)) {
		return words
	}
	return i18n.L("to be on the beat")
}

// LateEarly says a lag in words: "12.3 ms late", "0.4 ms early".
func LateEarly(lagMS float64) string {
	if size := math.Abs(lagMS); strings.HasPrefix(fmt.Sprintf("%.1f ", size), "0.0 ") {
		return i18n.F("%.1f ms", size)
	}
	return i18n.Way(lagMS, "%.1f ms late", "%.1f ms early")
}
