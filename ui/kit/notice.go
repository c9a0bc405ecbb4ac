package kit

import (
	"log/slog"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// Notice is where errors and news appear as sentences, the newest few of them, in room of
// their own at the bottom of the window, so that they hide nothing. Errors stay until they
// are dismissed or something else is done; news go by themselves.
//
// Rules for its sentences: they say what is wrong, with which file, and what to
// do; they begin with a capital and end with a full stop.
type Notice struct {
	Card  *fyne.Container
	Later func(func()) // does something once news have been read; nil = never
	paper *canvas.Rectangle
	icon  *widget.Icon
	Text  *widget.Label
	Acts  *fyne.Container // what can be done about the newest
	said  []news
	turn  int // counts what is said
}

type news struct {
	sentence string
	bad      bool
}

// mostNews is how many sentences are shown: who reads them has three in mind at most.
const mostNews = 3

// NewNotice returns one that says nothing.
func NewNotice() *Notice {
	n := &Notice{paper: canvas.NewRectangle(nil), icon: widget.NewIcon(nil), Text: Wrapped(""), Acts: NewFlow()}
	n.paper.CornerRadius, n.paper.StrokeWidth = 6, 1
	away := NewButton(i18n.L("Dismiss"), n.Clear)
	n.Card = container.New(broken{}, container.NewStack(n.paper, container.NewPadded(container.NewVBox(
		container.NewBorder(nil, nil, n.icon, container.NewVBox(away), n.Text), n.Acts))))
	n.Card.Hide()
	return n
}

// broken lays one thing out whose lines break at the width it has.
type broken struct{}

func (broken) MinSize(o []fyne.CanvasObject) fyne.Size {
	if o[0].Size().Width == 0 {
		o[0].Resize(fyne.NewSize(800, 0)) // it was not laid out yet
	}
	return fyne.NewSize(0, o[0].MinSize().Height)
}

func (broken) Layout(o []fyne.CanvasObject, size fyne.Size) { o[0].Resize(size) }

// Say adds a sentence to what is shown, with what can be done about it.
func (n *Notice) Say(sentence string, bad bool, acts ...fyne.CanvasObject) {
	sentence = AsSentence(sentence)
	n.said = slices.DeleteFunc(n.said, func(s news) bool { return s.sentence == sentence })
	n.said = append(n.said, news{sentence, bad})
	n.said = n.said[max(0, len(n.said)-mostNews):]
	n.Acts.Objects = acts
	n.show()
	n.turn++
	if turn := n.turn; n.Later != nil {
		n.Later(func() {
			if n.turn == turn {
				n.said = slices.DeleteFunc(n.said, func(s news) bool { return !s.bad })
				n.show()
			}
		})
	}
}

// show brings the card up to what is said.
func (n *Notice) show() {
	var lines []string
	icon := theme.InfoIcon()
	for _, s := range n.said {
		lines = append(lines, s.sentence)
		if s.bad {
			icon = theme.NewWarningThemedResource(theme.WarningIcon())
		}
	}
	n.icon.SetResource(icon)
	th, variant := fyne.CurrentApp().Settings().Theme(), fyne.CurrentApp().Settings().ThemeVariant()
	n.paper.FillColor, n.paper.StrokeColor = th.Color(theme.ColorNameMenuBackground, variant), th.Color(theme.ColorNamePlaceHolder, variant)
	Show(n.Acts, len(n.Acts.Objects) > 0)
	n.Text.SetText(strings.Join(lines, "\n"))
	n.Card.Hidden = len(lines) == 0
	n.Card.Refresh()
}

// Clear takes away what is said.
func (n *Notice) Clear() {
	n.said = nil
	n.show()
}

// tell shows an error as a sentence; a cancelled job is no news.
func (n *Notice) tell(err error) {
	if err != nil && !Cancelled(err) {
		slog.Warn("told", "error", err)
		n.Say(err.Error(), true)
	}
}
