package signal

import "slices"

const (
	leastDB   = 9  // above the noise floor, and above what sounded before, for a hit
	spreadDB  = 20 // hits differ in loudness by this much without one being doubted
	weakestDB = 34 // below the loudest hits nothing is a hit
	gapDB     = 5  // a gap in loudness this wide parts the hits from lesser sounds
	knockS    = 10 // s from one knock against the machine to the next, on average, at least
	knockOne  = 8  // of so many sounds, at least, one may be a knock
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
	limit := t.weakest(found)
	return slices.DeleteFunc(found, func(c candidate) bool { return decibels(c.peak) < limit })
}

// weakest returns the level in dB below which a channel's candidates are lesser
// sounds: the middle of the widest gap below its loudest hits.
func (t *trigger) weakest(found []candidate) float64 {
	dB := peaks(found)
	top := t.top(dB, 0)
	widest, limit := float64(gapDB), top-usualDB
	for i := 1; i < len(dB); i++ {
		lo, hi := max(dB[i-1], top-weakestDB), min(dB[i], top)
		if hi > top-weakestDB && lo < top-spreadDB && hi-lo > widest {
			widest, limit = hi-lo, (lo+hi)/2
		}
	}
	return limit
}

// top returns how loud the loudest of some sounds are, the loudest last: not the very
// loudest, of which a few may be knocks, the least given. Where nothing sounds, that is the noise.
func (t *trigger) top(dB []float64, least int) float64 {
	if len(dB) == 0 {
		return t.floor()
	}
	return dB[max(0, len(dB)-1-max(least, knocks(len(dB), float64(len(t.levels))*blockS)))]
}

// knocks returns how many of n sounds in some seconds may be knocks. There may be many times
// as many pulses in a noise as strikes, but nobody knocks the more often for that.
func knocks(n int, seconds float64) int { return min(n/knockOne, 1+int(seconds/knockS)) }

// peaks returns how loud candidates are in dB, the loudest last.
func peaks(of []candidate) (dB []float64) {
	for _, c := range of {
		dB = append(dB, decibels(c.peak))
	}
	slices.Sort(dB)
	return dB
}
