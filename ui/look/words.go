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

// Played says at which tempo a take was played, or through which a sweep went.
func Played(r calib.Reading) string {
	if r.Law.Determined() {
		return i18n.F("sweep from %.0f to %.0f BPM", r.Law.FromBPM, r.Law.ToBPM)
	}
	return i18n.F("played at %.1f BPM", r.TempoBPM)
}

// Move writes a move of the index plate in words, such as "6 ahead"; "stay" for
// none.
func Move(steps int) string {
	if steps == 0 {
		return i18n.L("stay")
	}
	return i18n.Way(steps, "%d ahead", "%d back")
}
