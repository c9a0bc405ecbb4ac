package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// toolRows lays out two groups of tools at the ends of one row, or, where that is
// too narrow, one below the other.
type toolRows struct{ narrow bool }

func (t *toolRows) Layout(o []fyne.CanvasObject, size fyne.Size) {
	left, right := o[0].MinSize(), o[1].MinSize()
	o[0].Resize(left)
	o[1].Resize(right)
	at := fyne.NewPos(size.Width-right.Width, 0)
	if t.narrow {
		at = fyne.NewPos(0, left.Height+theme.Padding())
	}
	o[1].Move(at)
}

func (t *toolRows) MinSize(o []fyne.CanvasObject) fyne.Size {
	left, right := o[0].MinSize(), o[1].MinSize()
	if t.narrow {
		return fyne.NewSize(max(left.Width, right.Width), left.Height+theme.Padding()+right.Height)
	}
	return fyne.NewSize(left.Width+theme.Padding()+right.Width, max(left.Height, right.Height))
}

// underTools lays the rest out as its border does, once it has told the tools
// whether they have room for one row.
type underTools struct {
	border fyne.Layout
	rows   *toolRows
	tools  *fyne.Container
}

func (u underTools) Layout(o []fyne.CanvasObject, size fyne.Size) {
	u.rows.narrow = false
	u.rows.narrow = u.tools.MinSize().Width > size.Width
	u.border.Layout(o, size)
}

// MinSize is that of the narrow form, so that a window may be made narrow.
func (u underTools) MinSize(o []fyne.CanvasObject) fyne.Size {
	was := u.rows.narrow
	u.rows.narrow = true
	defer func() { u.rows.narrow = was }()
	return u.border.MinSize(o)
}

// noSongs stands in place of an empty set list, and says how to fill it.
func noSongs(w *Window) fyne.CanvasObject {
	title := newSign(26, 18, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignCenter, 360)
	title.set("Your set list begins here", theme.ColorNameForeground)
	say := newSign(17, 13, 4, fyne.TextStyle{}, fyne.TextAlignCenter, 360)
	say.set(noSongsWords, theme.ColorNamePlaceHolder)
	add := widget.NewButtonWithIcon("Add a song", theme.ContentAddIcon(), w.addSong)
	add.Importance = widget.HighImportance
	bring := widget.NewButtonWithIcon("Import a list (CSV)…", theme.FolderOpenIcon(), w.chooseSongs)
	buttons := container.NewHBox(layout.NewSpacer(), add, bring, layout.NewSpacer())
	return container.NewVBox(layout.NewSpacer(), title, say, gap(8), buttons, layout.NewSpacer())
}

const noSongsWords = "Add your songs with their tempos, in playing order, or import them from a spreadsheet saved as CSV. " +
	"Each gets its setting, the move from the song before and how sure that is, and Lagwright names the take that tells most."
