package signal

import (
	"cmp"
	"math"
	"slices"
)

const (
	offGrid     = 0.12 // of the period: a gap this far from whole periods is irregular
	fewRegular  = 4    // hits that make a train
	irregularBy = 2    // regular gaps that outweigh an irregular one
)

// regular returns the reference's own hits: of all ways to leave out the quieter
// ones, that which leaves the most regular train. The reference turns with the
// crank, so what does not fit its train is another sound.
func regular(hits []Hit) []Hit {
	levels := make([]float64, len(hits))
	for i, h := range hits {
		levels[i] = h.Level
	}
	slices.Sort(levels)
	best, most := hits, 0
	for i := 0; i <= len(levels)-fewRegular; i += 1 + len(levels)/looks {
		train := louderThan(hits, levels[i])
		if score := regularity(times(train)); score > most {
			best, most = train, score
		}
	}
	return fitting(best)
}

func louderThan(hits []Hit, level float64) []Hit {
	return slices.DeleteFunc(slices.Clone(hits), func(h Hit) bool { return h.Level < level })
}

// regularity counts the gaps of whole periods, less irregular ones.
func regularity(s []float64) int {
	period, score := medianGap(s), 0
	for i := 1; i < len(s); i++ {
		if whole(s[i]-s[i-1], period) {
			score++
		} else {
			score -= irregularBy
		}
	}
	return score
}

func whole(gap, period float64) bool {
	n := math.Max(1, math.Round(gap/period))
	return math.Abs(gap-n*period) < offGrid*period
}

// fitting returns the train less single hits that stand between two that fit.
func fitting(hits []Hit) []Hit {
	period := medianGap(times(hits))
	kept := make([]Hit, 0, len(hits))
	for i, h := range hits {
		if n := len(kept); n > 0 && i+1 < len(hits) {
			prev, next := kept[n-1].TimeS, hits[i+1].TimeS
			if !whole(h.TimeS-prev, period) && !whole(next-h.TimeS, period) && whole(next-prev, period) {
				continue
			}
		}
		kept = append(kept, h)
	}
	return kept
}

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
