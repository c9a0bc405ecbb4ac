package look

import (
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// minus is an en dash: the toolkit's font has no true minus sign, and a hyphen
// is too short to be read from the crank.
const minus = "–"

// Setting writes a setting in steps with its sign, such as "+14".
func Setting(steps int) string {
	return strings.ReplaceAll(calib.SettingWords(steps), "−", minus)
}

// Move writes a move of the index plate in words, such as "6 ahead"; "stay" for
// none.
func Move(steps int) string {
	if steps == 0 {
		return i18n.L("stay")
	}
	return i18n.Way(steps, "%d ahead", "%d back")
}
