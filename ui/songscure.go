package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/ui/look"
)

// mendSafety is the caution beside work inside the machine.
const mendSafety = safety + " Local codes and licensed practice come first."

// cure says what to change on the machine for the song in hand.
type cure struct {
	root    *fyne.Container
	text    *widget.Label
	caution *sign
}

func newCure(w *Window) *cure {
	c := &cure{text: widget.NewLabel(""), caution: newSign(16, 12, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300)}
	c.text.Wrapping, c.text.SizeName = fyne.TextWrapWord, theme.SizeNameCaptionText // read at the desk; the list needs the room
	c.caution.set(mendSafety, look.Warn)
	icon := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	machine := widget.NewButton("The machine…", w.askMachine)
	c.root = container.NewVBox(container.NewBorder(nil, nil, nil, container.NewCenter(machine), c.text), container.NewBorder(nil, nil, icon, nil, c.caution))
	return c
}

// show brings it up to the voices of a song.
func (c *cure) show(parts []bench.Rest) {
	words := cureWords(parts)
	c.text.SetText(words)
	show(c.root, words != "")
}

// cureWords says what to change, a line for each voice.
func cureWords(parts []bench.Rest) string {
	var lines []string
	for _, r := range parts {
		if r.Cure != "" {
			lines = append(lines, "To bring it in: "+inFont(r.Cure))
		}
	}
	return strings.Join(lines, "\n")
}
