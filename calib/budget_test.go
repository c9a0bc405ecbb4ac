package calib

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// One term from five readings among others that are known well: UKAS M3003's
// worked example of the Welch–Satterthwaite formula (JCGM 100:2008, G.4.1) gives
// 28.1 effective degrees of freedom for 3.5 of 5.7 (from memory; the arithmetic
// follows from the formula).
func TestBudgetDegreesOfFreedom(t *testing.T) {
	b := Budget{ScatterMS: 3.5, BeginsMS: math.Sqrt(5.7*5.7 - 3.5*3.5), ScatterDOF: 4}
	if math.Abs(b.CombinedMS()-5.7) > 1e-12 || math.Abs(b.DOF()-28.1) > 0.05 {
		t.Errorf("combined %g with %g degrees of freedom, want 5.7 with 28.1", b.CombinedMS(), b.DOF())
	}
}

// The interval is Student's: 2.14 standard uncertainties for 14 degrees of
// freedom, 1.96 where the scatter hardly counts (JCGM 100:2008, table G.2, from memory).
func TestBudgetCoverage(t *testing.T) {
	for _, c := range []struct{ beginsMS, want float64 }{{0, 2.14}, {40, 1.96}} {
		b := Budget{ScatterMS: 1, BeginsMS: c.beginsMS, ScatterDOF: 14}
		r := Reading{LagMS: 12, Budget: b}.withInterval()
		if got := r.HalfWidthMS() / r.Budget.CombinedMS(); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%g ms beside the scatter: %.3f standard uncertainties, want %.2f", c.beginsMS, got, c.want)
		}
		if mid := (r.LagCI95MS[0] + r.LagCI95MS[1]) / 2; math.Abs(mid-12) > 1e-9 {
			t.Errorf("the interval lies round %g ms, not round the lag", mid)
		}
	}
}

// What is only known to lie within limits has a standard uncertainty of half the
// width by the root of three (JCGM 100:2008, 4.3.7): a sample either way at 48
// kHz, a ten thousandth of the lag. What is added takes the scatter's four degrees of
// freedom to between seven and eight, for which Student's factor lies between 2.36 and
// 2.31 (table G.2, from memory).
func TestAllow(t *testing.T) {
	r := Read(pairsAt([]float64{-30, -31, -29, -30, -30.5}), nil, nil, 1)
	scatter := r.Budget.ScatterMS
	wider := r.Widen(0.2, 48000)
	b := wider.Budget
	if math.Abs(b.SkewMS-1000/48000./math.Sqrt(3)) > 1e-12 || math.Abs(b.ClockMS-1e-4*math.Abs(r.LagMS)/math.Sqrt(3)) > 1e-12 || b.BeginsMS != 0.2 || b.ScatterMS != scatter {
		t.Errorf("budget %+v", b)
	}
	if k := wider.HalfWidthMS() / b.CombinedMS(); b.DOF() <= 7 || b.DOF() >= 8 || k <= 2.305 || k >= 2.365 {
		t.Errorf("± %g ms, %.3f times %g, with %g degrees of freedom", wider.HalfWidthMS(), k, b.CombinedMS(), b.DOF())
	}
	if root := math.Sqrt(scatter*scatter + b.CrankMS*b.CrankMS + 0.2*0.2); b.CombinedMS() <= root || b.CombinedMS() >= 1.01*root {
		t.Errorf("%g ms combined: what was added is not in it", b.CombinedMS())
	}
	var sum float64
	for _, term := range b.Terms() {
		sum += term.Share
	}
	if math.Abs(sum-1) > 1e-12 || b.Largest().MS != max(b.ScatterMS, b.BeginsMS) {
		t.Errorf("the shares sum to %g, and %+v is called the largest of %+v", sum, b.Largest(), b)
	}
}

// However often terms are added, only the scatter's own degrees of freedom count.
func TestDegreesOfFreedomAreCountedOnce(t *testing.T) {
	r := Reading{Budget: Budget{ScatterMS: 1, CrankMS: 1, ScatterDOF: 9}}
	once, twice := r.Widen(1, 1e9).Budget, r.Widen(3, 1e9).Widen(1, 1e9).Budget
	if math.Abs(twice.DOF()-once.DOF()) > 1e-9 || math.Abs(once.DOF()-81) > 1e-6 {
		t.Errorf("%g degrees of freedom at once, %g in two steps, want 81", once.DOF(), twice.DOF())
	}
}

func pairsAt(lagsMS []float64) []Pair {
	var pairs []Pair
	for i, lag := range lagsMS {
		at := float64(i)
		pairs = append(pairs, Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	return pairs
}

// crank is a machine that turns unevenly: the reference strikes at every whole
// beat, the voice is released early by an angle and falls for a constant time.
type crank struct{ periodS, wow float64 }

// at returns when the crank passes a number of beats: four beats make a turn.
func (c crank) at(beats float64) float64 {
	return c.periodS * (beats + c.wow*math.Sin(math.Pi/2*(beats+0.3))/(math.Pi/2))
}

func (c crank) take(beats []int, aheadBeats, fallS float64) (pairs []Pair, referenceS []float64) {
	for n := range 40 {
		referenceS = append(referenceS, 1+c.at(float64(n)))
	}
	for _, n := range beats {
		at := 1 + c.at(float64(n)-aheadBeats) + fallS
		pairs = append(pairs, Pair{ReferenceS: referenceS[n], VoiceS: at, LagMS: 1000 * (at - referenceS[n]), Used: true})
	}
	return pairs, referenceS
}

func everyBeat(step int) (beats []int) {
	for n := 2; n < 38; n += step {
		beats = append(beats, n)
	}
	return beats
}

// A crank that is uneven within a turn makes the lag differ from beat to beat.
// The hits of the reference show by how much, so that little of it is left to
// be called scatter.
func TestTurningTakesTheCrankOutOfTheScatter(t *testing.T) {
	even, _ := crank{0.7, 0}.take(everyBeat(1), 0.25, 0.2)
	if r := Read(even, referenceOf(crank{0.7, 0}), nil, 1); r.Budget.CrankMS > 1e-6 || r.JitterMS > 1e-6 {
		t.Errorf("an even crank: %+v, jitter %g ms", r.Budget, r.JitterMS)
	}
	c := crank{0.7, 0.02}
	pairs, reference := c.take([]int{2, 3, 5, 6, 8, 9, 12, 13, 14, 17, 19, 20, 22, 25, 27, 28, 31, 33, 34, 36}, 0.25, 0.2)
	r := Read(pairs, reference, nil, 1)
	n := math.Sqrt(float64(len(pairs)))
	if plain := stat.StdDev(r.usedLags(), nil) / n; plain < 0.3 || r.Budget.ScatterMS > plain/3 {
		t.Errorf("scatter of the mean %.3f ms of %.3f ms with the crank in it", r.Budget.ScatterMS, plain)
	}
}

func referenceOf(c crank) []float64 {
	_, reference := c.take(nil, 0, 0)
	return reference
}

// Strikes that always meet the crank at the same place of its turn carry its
// unevenness into the mean, and the budget has it; spread over the turn they do not.
func TestTurningAllowsForLockedStrikes(t *testing.T) {
	c := crank{0.7, 0.02}
	locked, reference := c.take(everyBeat(4), 0.25, 0.2)
	spread, _ := c.take(everyBeat(1), 0.25, 0.2)
	l, s := Read(locked, reference, nil, 1), Read(spread, reference, nil, 1)
	if off := math.Abs(l.LagMS - s.LagMS); 2*l.Budget.CrankMS < off || l.Budget.CrankMS < 4*s.Budget.CrankMS {
		t.Errorf("locked %.2f ms, with %.2f ms in the budget for the crank; spread %.2f ms with %.2f", l.LagMS, l.Budget.CrankMS, s.LagMS, s.Budget.CrankMS)
	}
}
