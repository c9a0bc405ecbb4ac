package ui

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/ui/look"
)

// found is the likeliest mistake that the takes show; all of them on demand.
type found struct {
	root   *fyne.Container
	likely *sign
	all    *widget.Button
	known  []bench.Finding
	win    fyne.Window
}

func newFound(w *Window) *found {
	f := &found{likely: newSign(17, 13, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300), win: w.win}
	f.all = widget.NewButton("", f.list)
	icon := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	f.root = container.NewBorder(nil, nil, icon, f.all, f.likely)
	f.root.Hide()
	return f
}

// show brings it up to what was found, the likeliest first.
func (f *found) show(known []bench.Finding) {
	f.known = known
	show(f.root, len(known) > 0)
	if len(known) > 0 {
		f.likely.set(foundWords(known[0]), look.Warn)
	}
	f.all.SetText(fmt.Sprintf("All %d…", len(known)))
	show(f.all, len(known) > 1)
}

// list shows all that was found.
func (f *found) list() {
	text := widget.NewLabel(allFoundWords(f.known))
	text.Wrapping = fyne.TextWrapWord
	d := dialog.NewCustom("What looks wrong", "Close", container.NewVScroll(text), f.win)
	d.Resize(fyne.NewSize(680, 420))
	d.Show()
}

// foundWords says a finding: what, how likely and what to do, with the caution
// where that is work inside the machine.
func foundWords(f bench.Finding) string {
	odds := f.Odds
	if f.Voice != "" {
		odds = f.Voice + ", " + odds
	}
	words := fmt.Sprintf("Looks wrong (%s): %s %s", odds, f.Words, f.Do)
	if f.Reach {
		words += " " + safety
	}
	return inFont(words)
}

func allFoundWords(known []bench.Finding) string {
	lines := []string{"Nothing is changed on its own. The likeliest first:"}
	for _, f := range known {
		lines = append(lines, foundWords(f))
	}
	return strings.Join(lines, "\n\n")
}
