package signal

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

const (
	leakEarlyS = 0.0015 // a leak is picked at most this long before the hit it comes from
	leakLateS  = 0.0040 // and at most this long after it: sound in a frame is quick
	leakWideDB = 4      // a leak is weaker than its hit by the same amount, give or take half of this
	leakLoudDB = 5      // a channel's own hits are louder than its leaks by this much
	leakSteady = 0.0002 // s: a leak is always as late, give or take this; no two strikes are (leastJitterMS)
)

// coincidence is a hit that comes with a hit of the other channel.
type coincidence struct {
	hit    int     // index of the hit
	lateS  float64 // after the other channel's
	gainDB float64 // its level less the other's
}

// Own returns a channel's hits less those that are the other channel's leaking in.
// Leaks give themselves away together, not one by one: they come with the other
// channel's hits, always as late, always weaker than their hit by the same amount, and
// the channel has louder hits of its own. Of hits that come together and are no leak both
// are kept; where a leak is shown to begin before the hits, the time kept is that of the
// loud rise.
func Own(hits, other []Hit) []Hit {
	var together []coincidence
	for i, h := range hits {
		if src, ok := source(h, other); ok {
			together = append(together, coincidence{i, h.TimeS - src.TimeS, h.Level - src.Level})
		}
	}
	leaks, i := leakGroup(hits, together), -1
	own := slices.DeleteFunc(slices.Clone(hits), func(Hit) bool { i++; return leaks[i] })
	return atMainRise(own, other, false)
}

// atMainRise takes for the time of the hits under which the other channel's leak
// lies that of their loud rise, where such a leak is shown. A drum may sound in two
// stages too, and then the first is its strike; but its stages keep their distance,
// while a leak keeps its distance to the other's hit.
func atMainRise(hits, other []Hit, shown bool) []Hit {
	kept := slices.Clone(hits)
	var late, rise []float64
	var under []int
	for i, h := range kept {
		if src, ok := source(h, other); ok && h.mainS > h.TimeS {
			late, rise, under = append(late, h.TimeS-src.TimeS), append(rise, h.mainS-h.TimeS), append(under, i)
		}
	}
	usual := median(slices.Clone(late))
	steady := spreadOf(slices.Clone(late))
	if usual < 0 || usual > leakLateS || !shown && (len(under) < fewAlike || steady > min(leakSteady, spreadOf(rise)/2)) {
		return kept
	}
	for k, i := range under {
		if math.Abs(late[k]-usual) < 2*leakSteady {
			kept[i].TimeS = kept[i].mainS
		}
	}
	slices.SortStableFunc(kept, func(a, b Hit) int { return cmp.Compare(a.TimeS, b.TimeS) })
	return mergeSame(kept)
}

// source returns the loudest hit of the other channel that h could be the leak
// of, or of its second stage.
func source(h Hit, other []Hit) (src Hit, ok bool) {
	i, _ := slices.BinarySearchFunc(other, h.TimeS-leakLateS-strikeS, func(o Hit, t float64) int { return cmp.Compare(o.TimeS, t) })
	for ; i < len(other) && other[i].TimeS <= h.TimeS+leakEarlyS; i++ {
		if h.TimeS <= max(other[i].TimeS, other[i].mainS)+leakLateS && (!ok || other[i].Level > src.Level) {
			src, ok = other[i], true
		}
	}
	return src, ok
}

// looks is how many places are looked at for the best of many hits, so that the
// work does not grow with the square of their number.
const looks = 256

// leakGroup returns the hits that are leaks: the largest group of coincidences
// that looks like leaks.
func leakGroup(hits []Hit, together []coincidence) map[int]bool {
	slices.SortFunc(together, func(a, b coincidence) int { return cmp.Compare(a.gainDB, b.gainDB) })
	var best []coincidence
	for lo := 0; lo < len(together); lo += 1 + len(together)/looks {
		hi := sort.Search(len(together), func(i int) bool { return together[i].gainDB > together[lo].gainDB+leakWideDB })
		if hi-lo > len(best) && likeLeaks(hits, together, lo, hi) {
			best = together[lo:hi]
		}
	}
	leaks := map[int]bool{}
	for _, c := range best {
		leaks[c.hit] = true
	}
	return leaks
}

// likeLeaks reports whether together[lo:hi] looks like leaks.
func likeLeaks(hits []Hit, together []coincidence, lo, hi int) bool {
	group := together[lo:hi]
	var late, level []float64
	for _, c := range group {
		late, level = append(late, c.lateS), append(level, hits[c.hit].Level)
	}
	gone := map[int]bool{}
	for _, c := range together[:hi] {
		gone[c.hit] = true
	}
	first, off := median(late) < -leakSteady, spreadOf(late)
	if first || off > leakSteady {
		return false
	}
	louder, limit, enough := 0, median(level)+leakLoudDB, max(2, len(group)/20)
	if len(group) >= fewAlike && off < lockedS/2 && float64(len(group)) > most*float64(len(together)) { // no gate keeps that
		limit, enough = math.Inf(-1), max(2, len(group)/5)
	}
	for i, h := range hits {
		if !gone[i] && h.Level > limit {
			louder++
		}
	}
	return louder >= enough
}

// median returns the median; it sorts x.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}

// sdOf returns the standard deviation by the median distance from the median.
func sdOf(x []float64) float64 { return 1.4826 * spreadOf(slices.Clone(x)) }

// spreadOf returns the median distance from the median; it sorts x.
func spreadOf(x []float64) float64 {
	centre := median(x)
	for i := range x {
		x[i] = math.Abs(x[i] - centre)
	}
	return median(x)
}
