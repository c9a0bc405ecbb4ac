package ui

import (
	"log/slog"
	"strings"

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

// tell shows an error as a sentence; a cancelled job is no news.
func (n *notice) tell(err error) {
	if err != nil && !cancelled(err) {
		slog.Warn("told", "error", err)
		n.say(err.Error(), true)
	}
}
