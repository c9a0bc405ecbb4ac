package signal

import (
	"cmp"
	"slices"
)

func times(hits []Hit) []float64 {
	s := make([]float64, len(hits))
	for i, h := range hits {
		s[i] = h.TimeS
	}
	return s
}

// medianGap returns the median time between neighbours, 0 for fewer than two.
func medianGap(s []float64) float64 {
	var gaps []float64
	for i := 1; i < len(s); i++ {
		gaps = append(gaps, s[i]-s[i-1])
	}
	return middle(gaps)
}

// usual returns the level of a channel's own hits: the median of those within
// ownDB of its loudest.
func usual(hits []Hit) float64 {
	var dB []float64
	for _, h := range hits {
		dB = append(dB, h.Level)
	}
	if len(dB) == 0 {
		return 0
	}
	slices.SortFunc(dB, cmp.Compare[float64])
	const ownDB = 12
	first, _ := slices.BinarySearch(dB, dB[len(dB)-1-len(dB)/20]-ownDB)
	return middle(dB[first:])
}
