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
	safe := kit.Wrapped(i18n.L("Stop the crank and wait until everything is at rest. Only then reach in.")) // what reduces it lies near the crank
	scroll := container.NewScroll(container.NewVBox(safe, budgetView(t.Reading), widget.NewSeparator(), kit.Wrapped(EnoughWords(p.d.Machine().ToleranceMS))))
	p.d.Closable(i18n.F("How sure is take %d?", t.Take.ID), scroll, 760, 0)
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
		Titles: []string{i18n.L("What makes it uncertain"), i18n.L("Share"), i18n.L("Reduced by")},
		Shares: []float32{0.44, 0.12, 0.44}, Held: -1,
	}
	view.Add(widget.NewSeparator())
	view.Add(columns.Head())
	for _, row := range rows {
		line := container.New(columns)
		for _, cell := range row {
			line.Add(table.NewLabel(cell, false))
		}
		view.Add(line)
	}
	return view
}

// budgetRows returns a row for each term; nothing of too few pairs.
func budgetRows(r calib.Reading) (rows [][]string) {
	if r.Used() < calib.MinPairs {
		return nil
	}
	for _, term := range r.Budget.Terms() {
		rows = append(rows, []string{kit.Capital(term.What), i18n.F("%.0f %%", 100*term.Share), term.Shrink})
	}
	return rows
}

// budgetWords says the interval and what it mostly hangs on, as a builder would.
func budgetWords(r calib.Reading) string {
	if r.Used() < calib.MinPairs {
		return i18n.F("A lag needs %d pairs or more to say how sure it is; this take has %d.", calib.MinPairs, r.Used())
	}
	most, lag := r.Budget.Largest(), calib.LateEarly(r.LagMS)
	if r.Law.Determined() { // a sweep: its lag is another at each tempo
		lag = i18n.F("%s at %.4g BPM", lag, r.TempoBPM)
	}
	return i18n.F("%s, give or take %.2f ms: 19 times in 20 the true lag lies between %s and %s. Most of that is %s; reduced by %s.",
		lag, r.HalfWidthMS(), calib.LateEarly(r.LagCI95MS[0]), calib.LateEarly(r.LagCI95MS[1]), most.What, most.Shrink)
}
