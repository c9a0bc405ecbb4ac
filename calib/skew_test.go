package calib

import (
	"math"
	"testing"
)

// A channel that hears later makes the voice look late: what is taken off is the
// skew itself (sum of corrections, JCGM 100:2008, 3.2.3), and its uncertainty
// joins the others by the root of the sum of squares (5.1.2).
func TestLessTakesTheSkewOff(t *testing.T) {
	plain := Read(pairsAt([]float64{4, 5, 6, 5, 4.5, 5.5}), nil, []float64{0.004, 1.005}, 1).Widen(0.2, 48000)
	r := plain.WithoutSkew(Skew{MS: 0.75, UncertaintyMS: 0.05, Knocks: 4})
	if math.Abs(r.LagMS-4.25) > 1e-12 || math.Abs(r.Pairs[0].LagMS-3.25) > 1e-12 || math.Abs(r.VoiceHitsS[1]-1.00425) > 1e-12 {
		t.Errorf("lag %g ms, first pair %+v, voice %v", r.LagMS, r.Pairs[0], r.VoiceHitsS)
	}
	b := r.Budget
	want := math.Sqrt(b.ScatterMS*b.ScatterMS + b.CrankMS*b.CrankMS + 0.04 + 0.0025 + b.ClockMS*b.ClockMS)
	if b.SkewMS != 0.05 || math.Abs(b.CombinedMS()-want) > 1e-12 {
		t.Errorf("budget %+v, want combined %g", b, want)
	}
	if dof, was := b.ScatterDOF, plain.Budget.ScatterDOF; math.Abs(dof-was) > 1e-9 || math.Abs(dof-5) > 1e-9 {
		t.Errorf("the scatter has %g degrees of freedom, had %g, want 5", dof, was)
	}
	if mid := (r.LagCI95MS[0] + r.LagCI95MS[1]) / 2; math.Abs(mid-r.LagMS) > 1e-9 || r.HalfWidthMS() <= 0 {
		t.Errorf("interval %v round %g", r.LagCI95MS, r.LagMS)
	}
	if plain.VoiceHitsS[1] != 1.005 || plain.Pairs[0].LagMS != 4 {
		t.Error("the reading given was changed")
	}
}

// A recorder that was never checked has nothing taken off, and keeps its allowance.
func TestLessOfNothing(t *testing.T) {
	r := Read(pairsAt([]float64{4, 5, 6}), nil, nil, 1).Widen(0.2, 48000)
	if got := r.WithoutSkew(Skew{}); got.LagMS != r.LagMS || got.Budget != r.Budget {
		t.Errorf("%+v became %+v", r.Budget, got.Budget)
	}
}
