package sign

import "lagwright/calib/i18n"

// wrap breaks text at spaces, and between letters of scripts that know none, into
// lines no wider than width; a word that is wider than that stands alone.
func wrap(text string, width float32, measure func(string) float32) (lines []string) {
	line, long := "", float32(0)
	for _, p := range i18n.Pieces(text) {
		joined, now := p.After(line), long
		if p.Spaced && line != "" {
			now = measure(joined)
		} else {
			now += measure(p.Text) // such letters do not move together
		}
		if line != "" && now > width {
			lines = append(lines, line)
			joined, now = p.Text, measure(p.Text)
		}
		line, long = joined, now
	}
	return append(lines, line)
}
