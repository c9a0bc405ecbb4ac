package calib

import (
	"testing"

	"lagwright/internal/pagetest"
)

// Numbers in the sentences of LAW.md and MEASURING.md are those of the code.
func TestPagesNameTrueNumbers(t *testing.T) {
	for words, so := range map[string]bool{
		"g = 9.80665 m/s²": StandardGravity == 9.80665,
		"by 0.3 ms that takes of an untouched machine differ by": TakeToTakeMS == 0.3,
		"From 10 hits on":             enoughForCorrelation == 10,
		"one sample between channels": skewFrames == 1,
		"100 parts in a million":      clockShare == 100e-6,
		"or, as likely, anywhere":     usualElsewhere == 0.5,
		"5 ms unless said otherwise":  DefaultToleranceMS == 5,
		"at most 10 steps":            TrialSteps == 10,
		"worse than 12 %":             knownStep == 0.12,
	} {
		pagetest.Says(t, "LAW.md", words, so)
	}
	for words, so := range map[string]bool{
		"farther from the median than 4 + 8/n": farSD == 4, "and 4 ms": farFloorMS == 4, "1.4826 times": madScale == 1.482602218505602,
	} {
		pagetest.Says(t, "signal/MEASURING.md", words, so)
	}
}
