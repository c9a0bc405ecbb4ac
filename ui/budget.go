package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/session"
	"lagwright/ui/look"
)

// howSure shows what the interval of the take in sight is made of.
func (w *Window) howSure() {
	t, ok := w.inSight()
	if !ok || !w.ready() {
		return
	}
	d := dialog.NewCustom(fmt.Sprintf("How sure is take %d?", t.ID), "Close", budgetView(t), w.win)
	d.Resize(fyne.NewSize(720, 0))
	d.Show()
}

// budgetView is the budget of a take: the interval in a sentence, a table of what
// it is made of, and what would make it narrower.
func budgetView(t session.Take) fyne.CanvasObject {
	view := container.NewVBox()
	rows := budgetRows(t.Reading)
	if len(rows) > 0 {
		table := container.New(layout.NewGridLayoutWithColumns(len(rows[0])))
		table = container.New(budgetColumns{}, table.Objects...)
		for i, row := range rows {
			for _, cell := range row {
				l := widget.NewLabel(cell)
				l.TextStyle.Bold = i == 0 || i == len(rows)-1
				table.Add(l)
			}
		}
		view.Add(table)
	}
	said := widget.NewLabel(budgetWords(t.Reading))
	said.Wrapping = fyne.TextWrapWord
	view.Add(said)
	return view
}

// budgetRows returns the table: a head, a row for each term and one for all
// together; nothing where there is no budget.
func budgetRows(r calib.Reading) [][]string {
	b := r.Budget
	if !b.Known() || r.Used() < calib.MinPairs {
		return nil
	}
	rows := [][]string{{"What the number hangs on", "Uncertainty", "Share", "Made smaller by"}}
	for _, term := range b.Terms() {
		size, share := fmt.Sprintf("%.3f ms", term.MS), percent(term.Share)
		if b.SkewMS == 0 && term.MS == 0 {
			size, share = "not known", ""
		}
		rows = append(rows, []string{asSentenceStart(term.What), size, share, term.Shrink})
	}
	return append(rows, []string{"All together", fmt.Sprintf("%.3f ms", b.CombinedMS), "", b.Free()})
}
