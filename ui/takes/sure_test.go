package takes

import (
	"strings"
	"testing"

	"lagwright/calib"
)

// A reading too poor for a budget says so.
func TestNoBudgetIsSaid(t *testing.T) {
	few := calib.Read([]calib.Pair{{LagMS: 10, Used: true}, {LagMS: 11, Used: true}}, nil, nil, 1)
	if rows := budgetRows(few); rows != nil || !strings.Contains(budgetWords(few), "this take has 2") {
		t.Errorf("%v, %q", rows, budgetWords(few))
	}
}
