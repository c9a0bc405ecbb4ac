package signal

import "slices"

func times(hits []Hit) []float64 {
	s := make([]float64, len(hits))
	for i, h := range hits {
		s[i] = h.TimeS
	}
	return s
}

// A channel's own hits are those within ownDB of its loudest. They are usualShare as
// loud; half of them may be clunks, so that upperShare are as loud as a strike.
const (
	ownDB      = 12
	usualShare = 0.5
	upperShare = 0.75
	topShare   = 0.95
)

// ownLevel returns the level that a share of a channel's own hits do not exceed. Its
// very loudest few may be knocks, and tell nothing of which are its own.
func ownLevel(hits []Hit, share float64) float64 {
	if len(hits) == 0 {
		return 0
	}
	var dB []float64
	for _, h := range hits {
		dB = append(dB, h.Level)
	}
	slices.Sort(dB)
	knocks := max(knocks(len(dB), hits[len(hits)-1].TimeS-hits[0].TimeS), min(2, len(dB)/4))
	first, _ := slices.BinarySearch(dB, dB[len(dB)-1-knocks]-ownDB)
	own := dB[first:]
	return own[int(share*float64(len(own)-1)+0.5)]
}
