package calib

import (
	"math"
	"slices"
)

const (
	otherReachS = 0.6   // a gate clunks, and shot rebounds, within this time of a strike
	otherWideS  = 0.004 // and always after the same time, give or take this
	otherShare  = 0.5   // of the strikes come with it
)

// OtherSound returns the hits of the voice that come with most of its strikes at
// one distance, as a gate's clunk does before them or a rebound after them: what
// might be the strikes instead. others are the voice's further hits; both are in
// order of time, in s. gapMS is the distance, negative where the other sound
// comes first. There are fewer than MinPairs hits, and none are returned, where
// no such sound is heard.
func OtherSound(strikesS, othersS []float64) (hitsS []float64, gapMS float64) {
	gaps := gapsNear(strikesS, othersS)
	first, last := densest(gaps, otherWideS)
	if first == last {
		return nil, 0
	}
	gap := median(gaps[first:last])
	for _, at := range strikesS {
		if other, ok := Nearest(othersS, at+gap); ok && math.Abs(other-at-gap) <= otherWideS {
			hitsS = append(hitsS, other)
		}
	}
	hitsS = slices.Compact(hitsS)
	if len(hitsS) < MinPairs || float64(len(hitsS)) < otherShare*float64(len(strikesS)) {
		return nil, 0
	}
	return hitsS, 1000 * gap
}

// gapsNear returns how long after each strike each of the others near it comes,
// smallest first.
func gapsNear(strikesS, othersS []float64) []float64 {
	var gaps []float64
	for _, at := range strikesS {
		i, _ := slices.BinarySearch(othersS, at-otherReachS)
		for ; i < len(othersS) && othersS[i] <= at+otherReachS; i++ {
			gaps = append(gaps, othersS[i]-at)
		}
	}
	slices.Sort(gaps)
	return gaps
}

// densest returns the stretch of sorted numbers no wider than twice a width that
// holds the most of them.
func densest(sorted []float64, width float64) (first, last int) {
	from := 0
	for to := range sorted {
		for sorted[to]-sorted[from] > 2*width {
			from++
		}
		if to+1-from > last-first {
			first, last = from, to+1
		}
	}
	return first, last
}

// Nearest returns the one of sorted times that lies nearest to a time.
func Nearest(sorted []float64, t float64) (nearest float64, ok bool) {
	i, _ := slices.BinarySearch(sorted, t)
	for _, k := range []int{i - 1, i} {
		if k >= 0 && k < len(sorted) && (!ok || math.Abs(sorted[k]-t) < math.Abs(nearest-t)) {
			nearest, ok = sorted[k], true
		}
	}
	return nearest, ok
}
