package signal

// The reference turns with the crank, and strikes on every beat; the voice hangs on a
// gate, which may miss. So a voice does not strike more often than its reference.
const (
	fullerBy  = 2    // hits that one train has more than the other
	denserBy  = 1.15 // and for one of the other's
	evenShare = 0.7  // of the beats in a train have a hit
	restBeats = 3    // a train that lacks more in a row rests, or its cable was off
)

// swapped reports whether the reference seems to be on the voice's channel, of which those
// hits are given that are as loud as its strikes: noise may pulse under them. While the
// reference rests, they tell nothing of that.
func swapped(r train, voice []Hit) bool {
	v := regular(voice)
	n, m := len(r.hits), len(v.hits)
	for i := 1; i < n; i++ {
		if r.number[i]-r.number[i-1] > restBeats {
			m -= within(times(v.hits), r.hits[i-1].TimeS, r.hits[i].TimeS)
		}
	}
	return m > n+fullerBy && float64(m) > denserBy*float64(n) && m >= fewRegular && float64(m) > evenShare*float64(v.number[len(v.number)-1])
}
