package plan

import (
	"fmt"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/internal/pagetest"
)

// TestFaultsOfThePage holds the table of mistakes in LAW.md.
func TestFaultsOfThePage(t *testing.T) {
	rows := [][]string{{"mistake", "chance before any take", "what it is"}}
	for _, f := range []struct {
		kind Kind
		is   string
	}{
		{Bad, "the lag of one reading is off by no rule"},
		{WrongVoice, "the reading is that of another voice"},
		{Crossed, "reference and voice are on each other's channel"},
		{Miscounted, "the move was some steps more or fewer than told"},
		{NotMoved, "the plate did not engage"},
		{NotTold, "the plate was turned, and no move told"},
		{WrongWay, "the move went the other way"},
		{FallChanged, "gate or fall of a voice changed before this take"},
		{PinMoved, "pins of a voice moved before this take"},
		{PlateWrong, "the step is not what the plate's numbers say"},
		{Flipped, "every move goes the other way than its sign"},
		{Backlash, "settings differ by the side they were reached from"},
	} {
		rows = append(rows, []string{string(f.kind), fmt.Sprint(rates[f.kind]), f.is})
	}
	if len(rows) != len(rates) { // Fine is in rates, the head in rows
		t.Errorf("%d rows for %d kinds", len(rows), len(rates))
	}
	pagetest.Piece(t, "../LAW.md", "faults", pagetest.Table(rows...))
	pagetest.Says(t, "../LAW.md", "a standard deviation of 80 ms", badMS == 80)
	pagetest.Says(t, "../LAW.md", "up to 20 steps", mostMiscounted == 20)
	pagetest.Says(t, "../LAW.md", "nothing, 1, 2.5 or 6 ms", slices.Equal(scatters.ms, []float64{0, 1, 2.5, 6}))
	pagetest.Says(t, "../LAW.md", "0.2, 0.7, 2 or 6 ms", slices.Equal(creeps.ms, []float64{0.2, 0.7, 2, 6}))
	pagetest.Says(t, "../LAW.md", "0.075 of a step", NearSteps == 0.075)
	pagetest.Says(t, "../LAW.md", "passes with less than 80 %", insideShare == 0.8)
	pagetest.Says(t, "../LAW.md", "where that is 99 %", Sure == 0.99)
	pagetest.Says(t, "../LAW.md", "with a scale of 1 ms", calib.PlatePrior(calib.Plate{}).CreepMS == 1)
	pagetest.Says(t, "../LAW.md", "with a scale of 0.02 ms", calib.PlatePrior(calib.Plate{}).ScatterMS == 0.02)
}
