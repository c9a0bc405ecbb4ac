package ui

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// asSentence gives a sentence its capital and full stop. A file's name at its
// beginning stays as it is.
func asSentence(s string) string {
	if s == "" {
		return s
	}
	word, _, _ := strings.Cut(s, " ")
	if !strings.ContainsFunc(word, func(r rune) bool { return !unicode.IsLetter(r) }) {
		s = capital(s)
	}
	if last, _ := utf8.DecodeLastRuneInString(s); !strings.ContainsRune(".?!。？！", last) {
		s += fullStop()
	}
	return s
}

// capital gives words a capital at the beginning.
func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}

func fullStop() string {
	if i18n.Tag() == "ja" {
		return "。"
	}
	return "."
}

// inFont replaces the minus sign, which Fyne's font has not got.
func inFont(text string) string { return strings.ReplaceAll(text, "−", "–") }

// inLine writes a sentence on without its capital, where a language has one only at
// the beginning of sentences.
func inLine(sentence string) string {
	if i18n.Tag() == "de" {
		return sentence // the capital may be a noun's
	}
	first, size := utf8.DecodeRuneInString(sentence)
	return string(unicode.ToLower(first)) + sentence[size:]
}

// firstLine is the beginning of notes, for where one line has room.
func firstLine(notes string) string {
	first, _, more := strings.Cut(notes, "\n")
	if more {
		first += " …"
	}
	return first
}

// wrapped is a label whose lines break at the width it has.
func wrapped(text string) *widget.Label {
	l := widget.NewLabel(text)
	l.Wrapping = fyne.TextWrapWord
	return l
}
