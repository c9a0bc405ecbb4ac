package signal

import "slices"

// The reference turns with the crank, and strikes on every beat; the voice hangs on a
// gate, which may miss. So a voice does not strike more often than its reference.
const (
	fullerBy  = 2    // hits that one train has more than the other
	denserBy  = 1.15 // and for one of the other's
	evenShare = 0.7  // of the beats in a train have a hit
	restBeats = 3    // a train that lacks more in a row rests, or its cable was off
)

// swapped reports whether the reference seems to be on the voice's channel, whose hits
// are given. While the reference rests, the voice's hits tell nothing of that.
func swapped(r, v train, voice []Hit) bool {
	n, m := len(r.hits), len(v.hits)
	for i := 1; i < n; i++ {
		if r.number[i]-r.number[i-1] > restBeats {
			m -= within(times(v.hits), r.hits[i-1].TimeS, r.hits[i].TimeS)
		}
	}
	return m > n+fullerBy && float64(m) > denserBy*float64(n) && v.even(voice)
}

// even reports whether few hits of a train are missing, and they are the channel's
// strikes and not what pulses under them. A few hits are no train.
func (t train) even(all []Hit) bool {
	if len(all) < fewRegular {
		return false
	}
	loud := slices.Sorted(slices.Values(levelsOf(all)))
	if median(levelsOf(t.hits)) < loud[len(loud)-fewRegular]-fadesDB {
		return false
	}
	return float64(len(t.hits)) > evenShare*float64(t.number[len(t.hits)-1])
}
