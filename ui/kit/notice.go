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

// Notice is where errors and news appear as sentences until they are dismissed, the
// newest few of them: a card over the bottom of the window, so that nothing moves or
// loses room when it comes and goes.
//
// Rules for its sentences: they say what is wrong, with which file, and what to
// do; they begin with a capital and end with a full stop.
type Notice struct {
	Root  *fyne.Container // lies over all of the window
	Card  *fyne.Container
	paper *canvas.Rectangle
	icon  *widget.Icon
	Text  *widget.Label
	Acts  *fyne.Container // what can be done about the newest
	Above float32         // room that is left free below the card
	said  []news
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
	n.Card = container.NewStack(n.paper, container.NewPadded(container.NewVBox(
		container.NewBorder(nil, nil, n.icon, container.NewVBox(away), n.Text), n.Acts)))
	n.Card.Hide()
	n.Root = container.New(lowerLeft{n}, n.Card)
	return n
}

// lowerLeft lays a card out at the lower left, over half of a wide window, where the
// lists are not.
type lowerLeft struct{ n *Notice }

func (lowerLeft) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.Size{} }

func (l lowerLeft) Layout(o []fyne.CanvasObject, size fyne.Size) {
	const wide, edge = 420, 8
	width := size.Width - 2*edge
	if !LargeText() {
		width = min(width, max(wide, size.Width*0.58))
	}
	o[0].Resize(fyne.NewSize(width, o[0].MinSize().Height)) // which breaks its lines
	high := min(o[0].MinSize().Height, size.Height)
	o[0].Resize(fyne.NewSize(width, high))
	o[0].Move(fyne.NewPos(edge, size.Height-high-edge-l.n.Above))
}

// Say adds a sentence to what is shown, with what can be done about it.
func (n *Notice) Say(sentence string, bad bool, acts ...fyne.CanvasObject) {
	sentence = AsSentence(sentence)
	n.said = slices.DeleteFunc(n.said, func(s news) bool { return s.sentence == sentence })
	n.said = append(n.said, news{sentence, bad})
	n.said = n.said[max(0, len(n.said)-mostNews):]
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
	n.Acts.Objects = acts
	Show(n.Acts, len(acts) > 0)
	n.Text.SetText(strings.Join(lines, "\n"))
	n.Card.Show()
	n.Root.Refresh()
}

// Clear takes away what is said.
func (n *Notice) Clear() {
	n.said = nil
	n.Text.SetText("")
	n.Card.Hide()
}

// tell shows an error as a sentence; a cancelled job is no news.
func (n *Notice) tell(err error) {
	if err != nil && !Cancelled(err) {
		slog.Warn("told", "error", err)
		n.Say(err.Error(), true)
	}
}
