package ui

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/ui/help"
	"lagwright/ui/takes"
)

// The budget of the take in sight opens from the menu and from beside the
// interval, and says in plain words what the stored budget says in numbers.
func TestHowSure(t *testing.T) {
	w := testWindow(t)
	if w.Practice(); !command(t, w, "How sure?").Disabled || w.take.Sure.Visible() {
		t.Error("How sure? is offered before there is a take")
	}
	test.Tap(w.loop.PlayTake)
	r := func() calib.Reading { got, _ := w.take.InSight(); return got.Reading }()
	if command(t, w, "How sure?").Disabled {
		t.Fatal("the menu does not offer How sure?")
	}
	test.Tap(w.take.Sure)
	var shown []string
	for _, o := range test.LaidOutObjects(w.desk.Win.Canvas().Overlays().Top()) {
		if l, ok := o.(*widget.Label); ok {
			shown = append(shown, l.Text)
		}
	}
	all := strings.Join(shown, "\n")
	for _, want := range []string{
		"Scatter from hit to hit", fmt.Sprintf("%.3f ms", r.Budget.ScatterMS), fmt.Sprintf("%.3f ms", r.Budget.CombinedMS),
		fmt.Sprintf("± %.2f ms", r.HalfWidthMS()), "Most of that is " + r.Budget.Main().What, "degrees of freedom",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
}

// Readings of before there were budgets, and those too poor for one, say so.
func TestNoBudgetIsSaid(t *testing.T) {
	pairs := []calib.Pair{{LagMS: 10, Used: true}, {LagMS: 11, Used: true}, {LagMS: 12, Used: true}}
	old := calib.Reading{LagMS: 11, LagCI95MS: [2]float64{9, 13}, Pairs: pairs}
	if rows := takes.BudgetRows(old); rows != nil || !strings.Contains(takes.BudgetWords(old), "earlier Lagwright") {
		t.Errorf("%v, %q", rows, takes.BudgetWords(old))
	}
	few := calib.Read(pairs[:2], nil, nil, 1)
	if rows := takes.BudgetRows(few); rows != nil || !strings.Contains(takes.BudgetWords(few), "this take has 2") {
		t.Errorf("%v, %q", rows, takes.BudgetWords(few))
	}
	changed := calib.Read(pairs, nil, nil, 1) // an old take whose hits were changed by hand
	if rows := takes.BudgetRows(changed); len(rows) != 7 || rows[4][1] != "not known" || !strings.Contains(takes.BudgetWords(changed), "is not in it") {
		t.Errorf("%v, %q", rows, takes.BudgetWords(changed))
	}
}

// How near is near enough is said wherever the tolerance is, with its sources.
func TestToleranceNamesItsSources(t *testing.T) {
	page, err := os.ReadFile("../assets/handbook/turning.md")
	if err != nil {
		t.Fatal(err)
	}
	for where, words := range map[string]string{"help": help.Text(), "handbook": string(page)} {
		for _, want := range []string{"5 ms", "6 ms", "2.5 %", "Friberg", "1995", "Hirsh 1959", "Watson 2004"} {
			if !strings.Contains(words, want) {
				t.Errorf("the %s lacks %q", where, want)
			}
		}
	}
	if got := takes.EnoughWords(5); !strings.Contains(got, "within 5 ms or half a step") || !strings.Contains(got, "Friberg and Sundberg 1995") {
		t.Errorf("How sure? says %q", got)
	}
}
