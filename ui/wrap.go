package ui

import (
	"strings"
	"unicode"
)

// wrap breaks text at spaces, and between letters of scripts that know none, into
// lines no wider than width; a word that is wider than that stands alone.
func wrap(text string, width float32, measure func(string) float32) (lines []string) {
	line, long := "", float32(0)
	for _, p := range pieces(text) {
		joined, now := line+p.text, long
		if p.spaced && line != "" {
			joined = line + " " + p.text
			now = measure(joined)
		} else {
			now += measure(p.text) // such letters do not move together
		}
		if line != "" && now > width {
			lines = append(lines, line)
			joined, now = p.text, measure(p.text)
		}
		line, long = joined, now
	}
	return append(lines, line)
}

// piece is what a line holds together.
type piece struct {
	text   string
	spaced bool // a space is before it
}

// Signs of Japanese that no line begins with, and those that none ends with.
const (
	notFirst = "、。，．・：；？！）」』】］ーっゃゅょッャュョァィゥェォ々…％"
	notLast  = "（「『【［"
)

// pieces cuts text where a line may end. A no-break space holds.
func pieces(text string) (all []piece) {
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' }) {
		from, last := 0, rune(0)
		for at, r := range word {
			if at > from && (spaceless(r) || spaceless(last)) && !strings.ContainsRune(notFirst, r) && !strings.ContainsRune(notLast, last) {
				all = append(all, piece{word[from:at], from == 0})
				from = at
			}
			last = r
		}
		all = append(all, piece{word[from:], from == 0})
	}
	return all
}

// spaceless reports whether a letter is of a script that is written without spaces.
func spaceless(r rune) bool {
	return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana) || strings.ContainsRune(notFirst+notLast, r)
}
