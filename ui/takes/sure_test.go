package takes

import (
	"strings"
	"testing"

	"lagwright/calib"
)

// Readings of before there were budgets, and those too poor for one, say so.
func TestNoBudgetIsSaid(t *testing.T) {
	pairs := []calib.Pair{{LagMS: 10, Used: true}, {LagMS: 11, Used: true}, {LagMS: 12, Used: true}}
	old := calib.Reading{LagMS: 11, LagCI95MS: [2]float64{9, 13}, Pairs: pairs}
	if rows := budgetRows(old); rows != nil || !strings.Contains(budgetWords(old), "earlier Lagwright") {
		t.Errorf("%v, %q", rows, budgetWords(old))
	}
	few := calib.Read(pairs[:2], nil, nil, 1)
	if rows := budgetRows(few); rows != nil || !strings.Contains(budgetWords(few), "this take has 2") {
		t.Errorf("%v, %q", rows, budgetWords(few))
	}
	changed := calib.Read(pairs, nil, nil, 1) // an old take whose hits were changed by hand
	if rows := budgetRows(changed); len(rows) != 7 || rows[4][1] != "not known" || !strings.Contains(budgetWords(changed), "is not in it") {
		t.Errorf("%v, %q", rows, budgetWords(changed))
	}
}
