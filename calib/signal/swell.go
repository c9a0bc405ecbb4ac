package signal

import (
	"math"
	"slices"
)

const (
	loudDB     = 6     // below a channel's usual hits one still counts as loud
	swellS     = 0.045 // a sound may swell for this long; shot falls longer than that
	swellDB    = 9     // by at most this much
	swellShare = 0.7   // of the loud hits have an earlier one, where the sound swells
	swellEven  = 0.010 // s: and the time between is the same, give or take this
)

// onsets drops the hits that are the swell of the one before, where most loud
// hits of the channel have an earlier one at about the same distance: a slow
// sound rises, and modes that beat swell, in each strike alike, while a knock
// comes before a strike by chance. An earlier hit that comes with one of the
// other channel may be its leak and tells nothing.
func onsets(hits, other []Hit) []Hit {
	limit := usual(hits) - loudDB
	begins := map[int]int{} // hit that may be a swell to the one it follows
	var gaps []float64
	loud := 0
	for i, h := range hits {
		if h.Level < limit {
			continue
		}
		loud++
		if j, ok := beginning(hits, i, other); ok {
			if root, more := begins[j]; more && h.TimeS-hits[root].TimeS < swellS {
				j = root
			} else if more {
				continue
			}
			begins[i] = j
			gaps = append(gaps, h.TimeS-hits[j].TimeS)
		}
	}
	// Where the earlier ones are loud too, they are not missing an earlier one.
	for _, j := range begins {
		if hits[j].Level >= limit {
			loud--
		}
	}
	if len(begins) < fewRegular || float64(len(begins)) < swellShare*float64(loud) || spreadOf(gaps) > swellEven {
		return hits
	}
	kept := slices.Clone(hits)
	for i, j := range begins {
		kept[j].Level, kept[j].Strength = max(kept[j].Level, hits[i].Level), max(kept[j].Strength, hits[i].Strength)
		kept[i].TimeS = math.NaN()
	}
	return slices.DeleteFunc(kept, func(h Hit) bool { return math.IsNaN(h.TimeS) })
}

// beginning returns the earlier hit whose swell hit i may be.
func beginning(hits []Hit, i int, other []Hit) (int, bool) {
	for j := i - 1; j >= 0 && hits[i].TimeS-hits[j].TimeS < swellS; j-- {
		if _, leak := source(hits[j], other); !leak && hits[i].Level-hits[j].Level < swellDB {
			return j, true
		}
	}
	return 0, false
}

// spreadOf returns the median distance from the median; it sorts x.
func spreadOf(x []float64) float64 {
	centre := middle(x)
	for i := range x {
		x[i] = math.Abs(x[i] - centre)
	}
	return middle(x)
}
