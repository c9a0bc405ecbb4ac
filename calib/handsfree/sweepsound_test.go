package handsfree_test

import (
	"testing"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
)

// The simulated machine's own sweep is led to its end.
func TestSweepOfTheSimulatedMachine(t *testing.T) {
	m := practice.Default()
	take, _ := m.Play(practice.Play{Voice: "tub drum", TempoBPM: 72, Setting: -2, Sweep: practice.Sweep{ToBPM: 104, Seconds: 24}, Rate: 8000, Seed: 7, LeadS: 1.5})
	plan := handsfree.Plan{TargetBPM: 72, ToBPM: 104}
	say, reading, troubles, atS := lead(t, take, plan, signal.Options{Reference: 1, Voice: 2, PerBeat: 1})
	if reading.Has(calib.WarnWholeBeat) {
		t.Errorf("a sweep leaves the whole beat open: %+v", reading.Law)
	}
	if say.Phase != handsfree.Enough || len(troubles) > 0 {
		t.Errorf("it ended at %.1f s: %+v, troubles %v", atS, say, troubles)
	}
}
