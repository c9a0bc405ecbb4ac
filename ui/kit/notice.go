package kit

import (
	"log/slog"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// Notice is the line along the bottom of the window where errors and news
// appear as sentences until they are dismissed.
//
// Rules for its sentences: they say what is wrong, with which file, and what to
// do; they begin with a capital and end with a full stop.
type Notice struct {
	Root *fyne.Container
	icon *widget.Icon
	Text *widget.Label
}

// NewNotice returns a line that says nothing.
func NewNotice() *Notice {
	n := &Notice{icon: widget.NewIcon(theme.InfoIcon()), Text: widget.NewLabel("")}
	n.Text.Wrapping = fyne.TextWrapWord
	n.Root = container.NewBorder(nil, nil, n.icon, NewButton(i18n.L("Dismiss"), n.Clear), n.Text)
	n.Root.Hide()
	return n
}

// Say adds a sentence to what is shown.
func (n *Notice) Say(sentence string, bad bool) {
	if !n.Root.Visible() {
		n.icon.SetResource(theme.InfoIcon())
	}
	if bad {
		n.icon.SetResource(theme.NewWarningThemedResource(theme.WarningIcon()))
	}
	sentence = AsSentence(sentence)
	if !strings.Contains(n.Text.Text, sentence) {
		n.Text.SetText(strings.TrimSpace(n.Text.Text + "\n" + sentence))
	}
	n.Root.Show()
}

// Clear takes away what is said.
func (n *Notice) Clear() {
	n.Text.SetText("")
	n.Root.Hide()
}

// tell shows an error as a sentence; a cancelled job is no news.
func (n *Notice) tell(err error) {
	if err != nil && !Cancelled(err) {
		slog.Warn("told", "error", err)
		n.Say(err.Error(), true)
	}
}
