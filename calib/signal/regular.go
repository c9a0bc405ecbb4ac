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

func levelsOf(hits []Hit) []float64 {
	dB := make([]float64, len(hits))
	for i, h := range hits {
		dB[i] = h.Level
	}
	return dB
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
func usual(hits []Hit) float64 { return middle(loudest(hits)) }

// upper returns the level that a quarter of a channel's own hits exceed. Where
// half of its sounds are clunks, it is that of a strike.
func upper(hits []Hit) float64 {
	dB := loudest(hits)
	if len(dB) == 0 {
		return 0
	}
	return dB[len(dB)-1-len(dB)/4]
}

// top returns the level of a channel's loudest hits, not of the very loudest, which
// may be a knock.
func top(hits []Hit) float64 {
	dB := loudest(hits)
	if len(dB) == 0 {
		return 0
	}
	return dB[len(dB)-1-len(hits)/20]
}

// loudest returns the levels of the hits that are louder than ownDB below the
// loudest, the very loudest few not counted, in order.
func loudest(hits []Hit) []float64 {
	dB := levelsOf(hits)
	if len(dB) == 0 {
		return nil
	}
	slices.SortFunc(dB, cmp.Compare[float64])
	const ownDB = 12
	few := max(len(dB)/8, min(2, len(dB)/4)) // that may be knocks
	first, _ := slices.BinarySearch(dB, dB[len(dB)-1-few]-ownDB)
	return dB[first:]
}
