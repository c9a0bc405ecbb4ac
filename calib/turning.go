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

// turning is the machine's turning as the reference's hits show it: where it
// stands, in reference hits, at a time.
type turning struct {
	at     interp.NaturalCubic // time in ms by number of the hit
	number map[float64]float64 // of each hit by its time in s
	last   float64
	period float64 // mean time between hits in ms
}

// newTurning returns the turning that hits show; ok is false where they are too
// few to show any.
func newTurning(hitsS []float64, periodMS float64) (t turning, ok bool) {
	if len(hitsS) < 4 || !(periodMS > 0) {
		return t, false
	}
	t = turning{number: map[float64]float64{hitsS[0]: 0}, period: periodMS}
	numbers, times := []float64{0}, []float64{1000 * hitsS[0]}
	for _, s := range hitsS[1:] {
		last := len(times) - 1
		n := math.Round((1000*s - times[last]) / periodMS)
		if n < 1 {
			continue
		}
		numbers, times = append(numbers, numbers[last]+n), append(times, 1000*s)
		t.number[s] = numbers[last] + n
	}
	if len(numbers) < 4 || t.at.Fit(numbers, times) != nil {
		return t, false
	}
	t.last = numbers[len(numbers)-1]
	return t, true
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
	for _, n := range t.number {
		u = append(u, t.angled(n, angle))
	}
	slices.Sort(u) // the order of a map is luck, and sums depend on it
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
			if number, ok := t.number[p.ReferenceS]; ok && p.Used {
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
		if n, ok := t.number[p.ReferenceS]; ok && p.Used {
			u[i] = t.angled(n, angle) - angle*t.period
		}
	}
	return u
}
