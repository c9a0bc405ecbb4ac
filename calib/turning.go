package calib

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/stat"
)

// usualDelayMS is about what gate and fall take together, give or take
// usualDelaySD (common practice, no published source). It tells how far before
// its beat a hit was released, roughly.
const (
	usualDelayMS = 200
	angleSD      = 0.15 // beats, by which that may be off
	angleSteps   = 8    // either side of the usual angle that are tried
)

// numberedHits is a run of reference hits with their numbers: those that came too early to be
// one are dropped, and those that are missing have their number all the same.
type numberedHits struct {
	atS     []float64 // when each was heard, s
	numbers []float64 // from 0
}

// numbered numbers hits; ok is false where they are too few to show any.
func numbered(hitsS []float64, periodMS float64) (t numberedHits, ok bool) {
	if len(hitsS) < leastNumbered || !(periodMS > 0) {
		return t, false
	}
	t = numberedHits{append(make([]float64, 0, len(hitsS)), hitsS[0]), append(make([]float64, 0, len(hitsS)), 0)}
	for _, s := range hitsS[1:] {
		last := len(t.atS) - 1
		if n := math.Round(1000 * (s - t.atS[last]) / periodMS); n >= 1 {
			t.atS, t.numbers = append(t.atS, s), append(t.numbers, t.numbers[last]+n)
		}
	}
	return t, len(t.atS) >= leastNumbered
}

// leastNumbered is how many hits show how a machine turns.
const leastNumbered = 4

// number returns that of the hit at a time in s.
func (t numberedHits) number(atS float64) (n float64, ok bool) {
	i, ok := slices.BinarySearch(t.atS, atS)
	if !ok {
		return 0, false
	}
	return t.numbers[i], true
}

// turning is the machine's turning as the reference's hits show it: where it
// stands, in reference hits, at a time.
type turning struct {
	numberedHits
	at     interp.NaturalCubic // time in ms by number of the hit
	last   float64
	period float64 // mean time between hits in ms
}

// newTurning returns the turning that hits show; ok is false where they are too
// few to show any.
func newTurning(hitsS []float64, periodMS float64) (t turning, ok bool) {
	if t.numberedHits, ok = numbered(hitsS, periodMS); !ok {
		return t, false
	}
	times := make([]float64, len(t.atS))
	for i, s := range t.atS {
		times[i] = 1000 * s
	}
	t.last, t.period = t.numbers[len(t.numbers)-1], periodMS
	return t, t.at.Fit(t.numbers, times) == nil
}

// angled returns how long the machine takes to turn by an angle, in reference
// hits, from a hit on; beyond the first and last hit it turns at its mean tempo.
func (t turning) angled(number, angle float64) float64 {
	to := math.Min(math.Max(number+angle, 0), t.last)
	return t.at.Predict(to) - t.at.Predict(number) + (number+angle-to)*t.period
}

// unevenness returns for each lag by how much the crank's uneven turning made it
// later than the mean tempo would have, at the angle at which the lags then
// scatter least; angles near the usual one are preferred. unseen is the standard
// uncertainty of their mean from what the hits do not show: how the machine
// turns between them.
func (t turning) unevenness(pairs []Pair) (uneven []float64, unseen float64) {
	centre := median(Reading{Pairs: pairs}.usedLags())
	usual := (centre - usualDelayMS) / t.period
	angle, least := usual, math.Inf(1)
	for k := -angleSteps; k <= angleSteps; k++ {
		off := float64(k) * 2 * angleSD / angleSteps
		u := t.atAngle(pairs, usual+off)
		left, n := scatterWithout(pairs, u)
		if cost := n*math.Log(left+0.3) + square(off/angleSD)/2; cost < least {
			uneven, angle, least = u, usual+off, cost
		}
	}
	return uneven, t.swing(angle) * t.locked(pairs)
}

// scatterWithout returns the mean distance in ms of the n used lags from their
// centre, with the unevenness taken out of them: what it does to all of them
// alike is no scatter.
func scatterWithout(pairs []Pair, uneven []float64) (ms, n float64) {
	var even []float64
	for i, p := range pairs {
		if p.Used {
			even = append(even, p.LagMS-uneven[i])
		}
	}
	centre := median(even)
	for i := range even {
		even[i] = math.Abs(even[i] - centre)
	}
	return stat.Mean(even, nil), float64(len(even))
}

// swing returns the standard deviation in ms, over all hits, of how long the
// machine takes to turn by an angle.
func (t turning) swing(angle float64) float64 {
	var u []float64
	for _, n := range t.numbers {
		u = append(u, t.angled(n, angle))
	}
	return stat.StdDev(u, nil)
}

// locked returns how much the used pairs fall on the same places of a crank
// geared by quarters of a turn to the reference: 1 where they all do, and the
// mean lag is that of those places, to 0 where they are spread evenly.
func (t turning) locked(pairs []Pair) float64 {
	var most float64
	for _, turns := range []float64{0.25, 0.5, 0.75} {
		var sum complex128
		n := 0.0
		for _, p := range pairs {
			if number, ok := t.number(p.ReferenceS); ok && p.Used {
				sum += cmplx.Rect(1, 2*math.Pi*turns*number)
				n++
			}
		}
		if n > 0 {
			most = math.Max(most, cmplx.Abs(sum)/n)
		}
	}
	return most
}

// atAngle returns the unevenness of each pair at one angle.
func (t turning) atAngle(pairs []Pair, angle float64) []float64 {
	u := make([]float64, len(pairs))
	for i, p := range pairs {
		if n, ok := t.number(p.ReferenceS); ok && p.Used {
			u[i] = t.angled(n, angle) - angle*t.period
		}
	}
	return u
}
