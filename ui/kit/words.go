package kit

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// AsSentence gives a sentence its capital and full stop. A file's name at its
// beginning stays as it is.
func AsSentence(s string) string {
	if s == "" {
		return s
	}
	word, _, _ := strings.Cut(s, " ")
	if !strings.ContainsFunc(word, func(r rune) bool { return !unicode.IsLetter(r) }) {
		s = Capital(s)
	}
	if last, _ := utf8.DecodeLastRuneInString(s); !strings.ContainsRune(".?!。？！", last) {
		s += fullStop()
	}
	return s
}

// Capital gives words a capital at the beginning.
func Capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}

func fullStop() string {
	if i18n.Tag() == "ja" {
		return "。"
	}
	return "."
}

// InFont replaces the minus sign, which Fyne's font has not got.
func InFont(text string) string { return strings.ReplaceAll(text, "−", "–") }

// InLine writes a sentence on without its capital, where a language has one only at
// the beginning of sentences.
func InLine(sentence string) string {
	if i18n.Tag() == "de" {
		return sentence // the capital may be a noun's
	}
	first, size := utf8.DecodeRuneInString(sentence)
	return string(unicode.ToLower(first)) + sentence[size:]
}

// FirstLine is the beginning of notes, for where one line has room.
func FirstLine(notes string) string {
	first, _, more := strings.Cut(notes, "\n")
	if more {
		first += " …"
	}
	return first
}

// Wrapped is a label whose lines break at the width it has.
func Wrapped(text string) *widget.Label {
	l := widget.NewLabel(text)
	l.Wrapping = fyne.TextWrapWord
	return l
}

// Short returns a name as it stands on a button: a long one is cut.
func Short(name string) string {
	const most = 16
	if r := []rune(name); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return name
}
