package takes

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// HowSure shows what the interval of the take in sight is made of.
func (p *Pane) HowSure() {
	t, ok := p.InSight()
	if !ok || !p.d.Ready() {
		return
	}
	scroll := container.NewScroll(container.NewVBox(budgetView(t.Reading), enough(p.d.Session().ToleranceMS)))
	_, done := p.d.Closable(i18n.F("How sure is take %d?", t.Take.ID), scroll, 760, 0)
	p.d.Focus(done) // so that the space bar closes it
}

// enough says how near is near enough, beside how near is known.
func enough(toleranceMS float64) fyne.CanvasObject {
	return container.NewVBox(widget.NewSeparator(), kit.Wrapped(EnoughWords(toleranceMS)))
}

// EnoughWords says how near is near enough, and by which sources.
func EnoughWords(toleranceMS float64) string {
	return i18n.F("Tight is within %.3g ms or half a step, whichever is more. The ear notices a tone out of an even row from about 6 ms on, "+
		"or 2.5 %% of the beat where that is more (Friberg and Sundberg 1995); Help > Handbook has more.", toleranceMS)
}

// budgetView is the budget of a reading: the interval and what it comes from in
// words, and a table of what it is made of.
func budgetView(r calib.Reading) fyne.CanvasObject {
	view := container.NewVBox(kit.Wrapped(budgetWords(r)))
	if rows := budgetRows(r); len(rows) > 0 {
		view.Add(widget.NewSeparator())
		view.Add(columns(rows))
	}
	return view
}

// columns lays out a table whose first and last rows stand out; each column is
// as wide as its widest cell.
func columns(rows [][]string) fyne.CanvasObject {
	table := container.NewHBox()
	for c := range rows[0] {
		column := container.NewVBox()
		for i, row := range rows {
			l := widget.NewLabel(row[c])
			l.TextStyle.Bold = i == 0 || i == len(rows)-1
			column.Add(l)
		}
		table.Add(column)
	}
	return table
}

// budgetRows returns the table: a head, a row for each term and one for all
// together; nothing where there is no budget.
func budgetRows(r calib.Reading) [][]string {
	b := r.Budget
	if !b.Known() || r.Used() < calib.MinPairs {
		return nil
	}
	rows := [][]string{{i18n.L("What makes it unsure"), i18n.L("Standard uncertainty"), i18n.L("Share"), i18n.L("Made smaller by")}}
	for _, term := range b.Terms() {
		size, share := i18n.F("%.3f ms", term.MS), i18n.F("%.0f %%", 100*term.Share)
		if term.MS == 0 && b.SkewMS == 0 {
			size, share = i18n.L("not known"), ""
		}
		rows = append(rows, []string{kit.Capital(term.What), size, share, term.Shrink})
	}
	return append(rows, []string{i18n.L("All together"), i18n.F("%.3f ms", b.CombinedMS), "", i18n.L("(root of the sum of the squares)")})
}

// budgetWords says the interval, what it mostly hangs on and how it was made.
func budgetWords(r calib.Reading) string {
	b := r.Budget
	switch {
	case r.Used() < calib.MinPairs:
		return i18n.F("A lag needs %d pairs or more to say how sure it is; this take has %d.", calib.MinPairs, r.Used())
	case !b.Known():
		return i18n.F("%s ± %.1f ms. An earlier Lagwright measured this take and did not keep what the interval is made of. "+
			"Open its recording again as a new take to see that.", kit.AsSentence(look.Lag(r.LagMS)), r.HalfWidthMS())
	}
	most := b.Main()
	words := i18n.F("%s, with 95 %% certainty between %s and %s: ± %.2f ms. Most of that is %s; made smaller by %s.\n"+
		"± %.2f ms is %.2f times the uncertainty of all together, as Student's distribution asks for %s.",
		look.Lag(r.LagMS), look.LagFigure(r.LagCI95MS[0]), look.LagFigure(r.LagCI95MS[1]), r.HalfWidthMS(), most.What, most.Shrink,
		r.HalfWidthMS(), r.Coverage(), b.Free())
	if b.SkewMS == 0 {
		words += " " + i18n.L("An earlier Lagwright measured this take: what sounds and recorder add is not in it.")
	}
	return words
}
