package calib

import (
	"math"
	"testing"
)

// near fails the test where got is further from want than tol.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.15g, want %.15g ± %g", what, got, want, tol)
	}
}

// Times to fall, worked out apart from this code by the same formula, √(2h/g); only g is
// published (3rd CGPM 1901). TestFallAgainstACalculator has a published time.
func TestFall(t *testing.T) {
	for _, c := range []struct{ heightMM, ms float64 }{
		{0, 0}, {-1, 0}, {100, 142.8087}, {300, 247.3519}, {500, 319.3300}, {1000, 451.6008}, {2000, 638.6599},
	} {
		near(t, "fall", FallMS(c.heightMM), c.ms, 0.0001)
	}
}

func TestPlate(t *testing.T) {
	near(t, "step", Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6}.StepBeats(), 1.0/72, 1e-15)
	if got := (Plate{}).StepBeats(); got != 0 {
		t.Errorf("an unknown plate has step %g, want 0", got)
	}
	near(t, "period at 90 BPM", PeriodMS(90), 666.6667, 0.0001)
	near(t, "tempo at 500 ms", TempoBPM(500), 120, 0)
}

// A trial move is short enough that no plate believed in hides which way it went, and
// long enough to tell the step.
func TestTrialMove(t *testing.T) {
	coarsest, finest := usualStep.Mean+2*usualStep.SD, usualStep.Mean-2*usualStep.SD
	if beats := TrialSteps * coarsest; beats > 0.3 {
		t.Errorf("%d steps may be %.2f of a beat: near half a beat ahead and back look alike", TrialSteps, beats)
	}
	const apartMS = math.Sqrt2 // two takes known to 1 ms each
	if told := apartMS / (TrialSteps * finest * PeriodMS(200)); told > knownStep {
		t.Errorf("%d steps tell the step to %.0f %% only", TrialSteps, 100*told)
	}
}
