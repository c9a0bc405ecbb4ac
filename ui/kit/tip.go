package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// Tips lies over all of a window's content, the last in its stack, and says the name of
// the button with a picture only that the mouse is on. The toolkit has no such thing.
type Tips struct {
	widget.BaseWidget
	Text  *widget.Label
	paper *canvas.Rectangle
	card  *fyne.Container
}

// NewTips says nothing yet.
func NewTips() *Tips {
	t := &Tips{Text: widget.NewLabel(""), paper: canvas.NewRectangle(nil)}
	t.card = container.NewStack(t.paper, t.Text)
	t.card.Hide()
	t.ExtendBaseWidget(t)
	return t
}

// CreateRenderer lays the card out where it was put.
func (t *Tips) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewWithoutLayout(t.card))
}

// say shows a name below something, or above it where there is no room; no name hides it.
func (t *Tips) say(name string, o fyne.CanvasObject) {
	Show(t.card, name != "")
	if name == "" {
		return
	}
	th, variant := t.Theme(), fyne.CurrentApp().Settings().ThemeVariant()
	t.paper.FillColor, t.paper.StrokeColor, t.paper.StrokeWidth = th.Color(theme.ColorNameMenuBackground, variant), th.Color(theme.ColorNamePlaceHolder, variant), 1
	t.Text.SetText(name)
	size, room := t.card.MinSize(), t.Size()
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(o).Subtract(fyne.CurrentApp().Driver().AbsolutePositionForObject(t))
	below := at.Y + o.Size().Height
	if below+size.Height > room.Height {
		below = at.Y - size.Height
	}
	t.card.Resize(size)
	t.card.Move(fyne.NewPos(max(0, min(at.X, room.Width-size.Width)), below))
	t.card.Refresh()
}

// tip has the window say a name beside a button, or no name any more.
func tip(o fyne.CanvasObject, name string) {
	c := fyne.CurrentApp().Driver().CanvasForObject(o)
	if c == nil {
		return
	}
	if all, ok := c.Content().(*fyne.Container); ok && len(all.Objects) > 0 {
		if t, ok := all.Objects[len(all.Objects)-1].(*Tips); ok {
			t.say(name, o)
		}
	}
}
