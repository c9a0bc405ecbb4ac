package signal

import "slices"

const (
	leastDB   = 9  // above the noise floor, and above what sounded before, for a hit
	spreadDB  = 20 // hits differ in loudness by this much without one being doubted
	weakestDB = 34 // below the loudest hits nothing is a hit
	gapDB     = 5  // a gap in loudness this wide parts the hits from lesser sounds
	usualDB   = 28 // below the loudest hits lie lesser sounds where no gap shows
)

// floor returns the level of the channel's noise in dB.
func (t *trigger) floor() float64 { return quantile(t.levels, floorShare) }

// worthwhile returns the candidates that stand out from the noise and, where
// the channel's loudness falls into two groups, belong to the louder one.
func (t *trigger) worthwhile() []candidate {
	floor := t.floor()
	var found []candidate
	for _, c := range t.candidates {
		if l := decibels(c.peak); l >= floor+leastDB && l >= decibels(c.before)+leastDB {
			found = append(found, c)
		}
	}
	limit := weakest(found)
	return slices.DeleteFunc(found, func(c candidate) bool { return decibels(c.peak) < limit })
}

// weakest returns the level in dB below which a channel's candidates are lesser
// sounds: the middle of the widest gap below its loudest hits.
func weakest(found []candidate) float64 {
	if len(found) == 0 {
		return 0
	}
	var dB []float64
	for _, c := range found {
		dB = append(dB, decibels(c.peak))
	}
	slices.Sort(dB)
	top := dB[len(dB)-1-len(dB)/20] // not the very loudest: that may be a knock
	widest, limit := float64(gapDB), top-usualDB
	for i := 1; i < len(dB); i++ {
		lo, hi := max(dB[i-1], top-weakestDB), min(dB[i], top)
		if hi > top-weakestDB && lo < top-spreadDB && hi-lo > widest {
			widest, limit = hi-lo, (lo+hi)/2
		}
	}
	return limit
}
