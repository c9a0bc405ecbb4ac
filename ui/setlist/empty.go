package setlist

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/i18n"
	"lagwright/ui/kit"
	"lagwright/ui/sign"
)

// noSongs stands in place of an empty set list, and says how to fill it.
func (p *Pane) noSongs() fyne.CanvasObject {
	title := sign.New(26, 18, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignCenter, 360)
	title.Set(i18n.L("Your set list begins here"), theme.ColorNameForeground)
	say := sign.New(17, 13, 4, fyne.TextStyle{}, fyne.TextAlignCenter, 360)
	say.Set(i18n.L(noSongsWords), theme.ColorNamePlaceHolder)
	add := kit.NewButtonWithIcon(i18n.L("Add a song"), theme.ContentAddIcon(), p.AddSong).Bright()
	bring := kit.NewButtonWithIcon(i18n.L("Import a list (CSV)…"), theme.FolderOpenIcon(), p.chooseSongs)
	buttons := container.NewCenter(container.NewHBox(add, bring))
	return container.NewVBox(layout.NewSpacer(), title, say, kit.Gap(8), buttons, layout.NewSpacer())
}

const noSongsWords = "Add your songs with their tempos, in playing order, or import them from a spreadsheet saved as CSV. " +
	"Each gets its setting, the move from the song before and how sure that is, and Lagwright names the take that tells most."
