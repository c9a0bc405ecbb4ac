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
	"lagwright/plotting"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// MachineRow is one machine of the list: its curve, three lines and a menu.
type MachineRow struct {
	widget.BaseWidget
	Picture         *canvas.Raster
	Name, What, How *widget.Label
	More            *kit.Button
	curve           plotting.Stamp
}

// Size of a thumbnail.
const (
	ThumbWide = 112
	ThumbHigh = 70
)

func newMachineRow() fyne.CanvasObject {
	line := func(bold bool) *widget.Label {
		l := widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: bold})
		l.Truncation = fyne.TextTruncateEllipsis
		return l
	}
	r := &MachineRow{Name: line(true), What: line(false), How: line(false)}
	r.Picture = canvas.NewRaster(func(w, h int) image.Image { // takes less than a millisecond
		return r.curve.Image(look.Inks(r.Theme()), w, h, float64(w)/ThumbWide)
	})
	r.Picture.SetMinSize(fyne.NewSize(ThumbWide, ThumbHigh))
	r.More = kit.NewIconButton(i18n.L("This machine"), theme.MoreVerticalIcon(), nil)
	r.ExtendBaseWidget(r)
	return r
}

// CreateRenderer lays the row out.
func (r *MachineRow) CreateRenderer() fyne.WidgetRenderer {
	lines := container.New(layout.NewCustomPaddedVBoxLayout(-theme.InnerPadding()-2), r.Name, r.What, r.How)
	return widget.NewSimpleRenderer(container.NewBorder(nil, nil, container.NewCenter(r.Picture), container.NewCenter(r.More),
		container.NewVBox(layout.NewSpacer(), lines, layout.NewSpacer())))
}

// show shows the machine in a folder in the row.
func (r *MachineRow) show(p *Pane, dir string) {
	name, what, how := p.Shelf.words(dir)
	r.Name.SetText(name)
	r.What.SetText(what)
	r.How.SetText(how)
	r.More.OnTapped = func() { p.menuOf(dir, r.More) }
	r.curve = p.Shelf.Known[dir].Curve
	r.Picture.Refresh()
}
