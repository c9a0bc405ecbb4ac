package ui

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// notice is the line along the bottom of the window where errors and news
// appear as sentences until they are dismissed.
//
// Rules for its sentences: they say what is wrong, with which file, and what to
// do; they begin with a capital and end with a full stop.
type notice struct {
	root *fyne.Container
	icon *widget.Icon
	text *widget.Label
}

func newNotice() *notice {
	n := &notice{icon: widget.NewIcon(theme.InfoIcon()), text: widget.NewLabel("")}
	n.text.Wrapping = fyne.TextWrapWord
	n.root = container.NewBorder(nil, nil, n.icon, newButton(i18n.L("Dismiss"), n.clear), n.text)
	n.root.Hide()
	return n
}

// say adds a sentence to what is shown.
func (n *notice) say(sentence string, bad bool) {
	if !n.root.Visible() {
		n.icon.SetResource(theme.InfoIcon())
	}
	if bad {
		n.icon.SetResource(theme.NewWarningThemedResource(theme.WarningIcon()))
	}
	sentence = asSentence(sentence)
	if !strings.Contains(n.text.Text, sentence) {
		n.text.SetText(strings.TrimSpace(n.text.Text + "\n" + sentence))
	}
	n.root.Show()
}

func (n *notice) clear() {
	n.text.SetText("")
	n.root.Hide()
}

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
