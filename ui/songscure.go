package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/ui/look"
)

// cure is the button, beside a song that no setting suits, that says what to change
// on the machine for it.
type cure struct {
	root  *button
	unit  func() unit
	words string // a paragraph for each voice
}

func newCure(w *Window) *cure {
	c := &cure{unit: w.unit}
	c.root = newButtonWithIcon(i18n.L("What would bring it in…"), theme.SettingsIcon(), func() { w.showCure(c.words) })
	c.root.Hide()
	return c
}

// show brings it up to the voices of a song.
func (c *cure) show(parts []loop.Rest) {
	c.words = cureWords(parts, c.unit())
	show(c.root, c.words != "")
}

// cureWords says what to change, a paragraph for each voice.
func cureWords(parts []loop.Rest, u unit) string {
	var lines []string
	for _, r := range parts {
		if r.Cure != "" {
			lines = append(lines, u.words(inFont(r.Cure)))
		}
	}
	return strings.Join(lines, "\n\n")
}

// showCure shows what to change on the machine, and where to say how it is built.
func (w *Window) showCure(words string) {
	if !w.ready() || words == "" {
		return
	}
	text := widget.NewLabel(words)
	text.Wrapping = fyne.TextWrapWord
	caution := newSign(16, 12, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300)
	caution.set(i18n.L(safety)+" "+i18n.L("Local codes and licensed practice come first."), look.Warn)
	icon := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	body := container.NewBorder(nil, container.NewBorder(nil, nil, icon, nil, caution), nil, nil, container.NewVScroll(text))
	d := dialog.NewCustomWithoutButtons(i18n.L("What would bring it in"), body, w.win)
	machine := newButton(i18n.L("The machine…"), func() { d.Hide(); w.askMachine() })
	done := newButton(i18n.L("Close"), d.Hide)
	d.SetButtons([]fyne.CanvasObject{machine, done})
	d.Resize(w.room(760, 400))
	d.Show()
	w.win.Canvas().Focus(done)
}
