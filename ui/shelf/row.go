package shelf

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// SessionRow is one session of the list: its curve, three lines and a menu.
type SessionRow struct {
	widget.BaseWidget
	Picture         *canvas.Image
	Name, What, How *widget.Label
	More            *kit.Button
	key             thumbKey // of the picture that is wanted
}

func newSessionRow() fyne.CanvasObject {
	line := func(bold bool) *widget.Label {
		l := widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: bold})
		l.Truncation = fyne.TextTruncateEllipsis
		return l
	}
	r := &SessionRow{Picture: canvas.NewImageFromImage(blank), Name: line(true), What: line(false), How: line(false)}
	r.Picture.FillMode = canvas.ImageFillContain
	r.Picture.SetMinSize(fyne.NewSize(ThumbWide, ThumbHigh))
	r.More = kit.NewIconButton(i18n.L("This machine"), theme.MoreVerticalIcon(), nil)
	r.ExtendBaseWidget(r)
	return r
}

var blank = image.NewNRGBA(image.Rect(0, 0, 1, 1))

// CreateRenderer lays the row out.
func (r *SessionRow) CreateRenderer() fyne.WidgetRenderer {
	lines := container.New(layout.NewCustomPaddedVBoxLayout(-theme.InnerPadding()-2), r.Name, r.What, r.How)
	return widget.NewSimpleRenderer(container.NewBorder(nil, nil, container.NewCenter(r.Picture), container.NewCenter(r.More),
		container.NewVBox(layout.NewSpacer(), lines, layout.NewSpacer())))
}

// show shows a session in the row.
func (r *SessionRow) show(p *Pane, at session.Recent, scale float32) {
	name, what, how := p.Shelf.words(at)
	r.Name.SetText(name)
	r.What.SetText(what)
	r.How.SetText(how)
	r.More.OnTapped = func() { p.menuOf(at, r.More) }
	k := p.Shelf.Known[at.Dir]
	r.key = thumbKey{at.Dir, k.stamp, look.Inks(r.Theme()), scale}
	p.Thumbs.want(r.key, k.Curve, r.put)
}

// put shows a picture, unless the row has been given to another session meanwhile.
func (r *SessionRow) put(key thumbKey, img image.Image) {
	if key == r.key && r.Picture.Image != img {
		r.Picture.Image = img
		r.Picture.Refresh()
	}
}
