package signal

import (
	"math"
	"slices"
)

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
			for _, h := range v.hits {
				if r.hits[i-1].TimeS < h.TimeS && h.TimeS < r.hits[i].TimeS {
					m--
				}
			}
		}
	}
	return m > n+fullerBy && float64(m) > denserBy*float64(n) && v.even(voice)
}

// even reports whether few hits of a train are missing, all are of a kind, and they
// are the channel's strikes and not what pulses under them.
func (t train) even(all []Hit) bool {
	loud := slices.Sorted(slices.Values(levelsOf(all)))
	if median(levelsOf(t.hits)) < loud[len(loud)-fewRegular]-fadesDB {
		return false
	}
	return float64(len(t.hits)) > evenShare*float64(t.number[len(t.hits)-1]) && !t.alternates()
}

const (
	limpsBy    = 0.03 // of the period: by how much the gaps before and after a clunk differ
	clunkBelow = 5    // dB: and by how much it is weaker than a strike
)

// alternates reports whether every other hit of a train is another sound, such as
// the gate's clunk halfway between strikes: it is weaker, and not quite halfway.
func (t train) alternates() bool {
	var levels, gaps [2][]float64 // gaps as shares of the period round them
	for i := 1; i+1 < len(t.hits); i++ {
		levels[i%2] = append(levels[i%2], t.hits[i].Level)
		around := (t.hits[i+1].TimeS - t.hits[i-1].TimeS) / 2
		gaps[i%2] = append(gaps[i%2], (t.hits[i].TimeS-t.hits[i-1].TimeS)/around)
	}
	limps := math.Abs(median(gaps[0])-median(gaps[1])) > limpsBy
	return limps && math.Abs(median(levels[0])-median(levels[1])) > clunkBelow
}
