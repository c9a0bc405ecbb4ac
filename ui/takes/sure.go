package takes

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/ui/kit"
	"lagwright/ui/table"
)

// HowSure shows what the interval of the take in sight is made of.
func (p *Pane) HowSure() {
	t, ok := p.InSight()
	if !ok || !p.d.Ready() {
		return
	}
	scroll := container.NewScroll(container.NewVBox(budgetView(t.Reading), enough(p.d.Machine().ToleranceMS)))
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
	rows := budgetRows(r)
	if len(rows) == 0 {
		return view
	}
	columns := table.Columns{
		Titles: []string{i18n.L("What makes it uncertain"), i18n.L("Standard uncertainty"), i18n.L("Share"), i18n.L("Reduced by")},
		Shares: []float32{0.3, 0.22, 0.1, 0.38}, Held: -1,
	}
	view.Add(widget.NewSeparator())
	view.Add(columns.Head())
	for i, row := range rows {
		line := container.New(columns)
		for _, cell := range row {
			line.Add(table.NewLabel(cell, i == len(rows)-1))
		}
		view.Add(line)
	}
	return view
}

// budgetRows returns a row for each term and one for all together; nothing of too few
// pairs.
func budgetRows(r calib.Reading) (rows [][]string) {
	b := r.Budget
	if r.Used() < calib.MinPairs {
		return nil
	}
	for _, term := range b.Terms() {
		rows = append(rows, []string{kit.Capital(term.What), i18n.F("%.3f ms", term.MS), i18n.F("%.0f %%", 100*term.Share), term.Shrink})
	}
	return append(rows, []string{i18n.L("All together"), i18n.F("%.3f ms", b.CombinedMS), "", i18n.L("(root of the sum of the squares)")})
}

// budgetWords says the interval, what it mostly hangs on and how it was made.
func budgetWords(r calib.Reading) string {
	b := r.Budget
	if r.Used() < calib.MinPairs {
		return i18n.F("A lag needs %d pairs or more to say how sure it is; this take has %d.", calib.MinPairs, r.Used())
	}
	most := b.Largest()
	return i18n.F("%s, with 95 %% certainty between %s and %s: ± %.2f ms. Most of that is %s; reduced by %s.\n"+
		"± %.2f ms is %.2f times the uncertainty of all together, as Student's distribution asks for %s.",
		calib.LateEarly(r.LagMS), calib.LateEarly(r.LagCI95MS[0]), calib.LateEarly(r.LagCI95MS[1]), r.HalfWidthMS(), most.What, most.Shrink,
		r.HalfWidthMS(), r.Coverage(), b.DOFWords())
}
