package i18n

import (
	"strings"
	"unicode"
)

// Piece is a part of a text that stays on one line.
type Piece struct {
	Text   string
	Spaced bool // a space parts it from the piece before
}

// After is a line with the piece added.
func (p Piece) After(line string) string {
	if line != "" && p.Spaced {
		return line + " " + p.Text
	}
	return line + p.Text
}

// Pieces cuts a text where lines may break: at spaces, and beside the characters
// of Chinese and Japanese, which are written without them. Closing punctuation
// stays with what it closes and opening with what it opens (the plainest of the
// rules of JIS X 4051, from memory).
func Pieces(s string) []Piece {
	var pieces []Piece
	for _, word := range strings.FieldsFunc(s, breaks) {
		spaced, start, before := true, 0, rune(0)
		for i, r := range word {
			if i > 0 && (unspaced(before) || unspaced(r)) && !strings.ContainsRune(closing, r) && !strings.ContainsRune(opening, before) {
				pieces = append(pieces, Piece{word[start:i], spaced})
				spaced, start = false, i
			}
			before = r
		}
		pieces = append(pieces, Piece{word[start:], spaced})
	}
	return pieces
}

// breaks reports whether a line may break in the place of a character: not at the
// spaces that hold a unit or a sign to what stands before it.
func breaks(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f' }

const (
	closing = "、。，．：；？！）」』】〕》ー々ぁぃぅぇぉっゃゅょァィゥェォッャュョ,.:;?!)%…・％］"
	opening = "（「『【〔《［("
)

// unspaced reports whether a character belongs to a script without spaces.
func unspaced(r rune) bool {
	return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana) || r >= 0x3000 && r <= 0x303F || r >= 0xFF00 && r <= 0xFFEF
}
