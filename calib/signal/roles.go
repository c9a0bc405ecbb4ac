package signal

import (
	"math"
	"slices"

	"lagwright/calib"
)

// The reference turns with the crank; the voice hangs on a gate. So of two
// channels the reference is the one that strikes more often, lacks fewer hits,
// and carries less of the scatter between them.
const (
	denserBy      = 1.6    // hits of one channel for one of the other, that settle it
	fullerBy      = 3      // hits that one train lacks more than the other
	leastScatterS = 0.0005 // of the second differences, that tells anything
	scatterSure   = 0.12   // standard uncertainty of the share of the scatter beyond which it tells nothing
	mixedShare    = 0.15   // of hits that come with the other channel's: beyond, scatter tells nothing
	allScatter    = 0.95   // share of the scatter in the voice beyond which it is the voice, whatever is missing
	scatterSays   = 0.5    // share of the scatter that decides alone is beyond 1/2 ± this/2
)

// swapped reports whether the reference is on the voice's channel. Where a cable
// is loose, missing hits tell nothing.
func swapped(reference, voice []Hit, loose bool) bool {
	r, v := regular(reference), regular(voice)
	if len(r.hits) < fewRegular && len(reference) > 0 && len(v.hits) >= 2*fewRegular {
		return v.even(voice) // a voice with long rests makes no train
	}
	if len(r.hits) < fewRegular || len(v.hits) < fewRegular {
		return false
	}
	if ratio := float64(len(v.hits)) / float64(len(r.hits)); ratio > denserBy || ratio < 1/denserBy {
		return ratio > denserBy && v.even(voice)
	}
	if loose {
		return false
	}
	first, last := r.hits[0].TimeS-v.hits[0].TimeS, v.hits[len(v.hits)-1].TimeS-r.hits[len(r.hits)-1].TimeS
	lack := r.lacking() - v.lacking() + int(math.Round(first/r.periodS(1))) + int(math.Round(last/r.periodS(len(r.hits)-1)))
	share, ok := scatter(r.hits, v.hits)
	ok = ok && togetherShare(r.hits, v.hits) < mixedShare // a leak that comes first scatters what it hides
	switch {
	case ok && share > allScatter:
		return false // what it lacks may have been taken for leaks
	case lack > fullerBy && r.clear():
		return true
	case ok && share < 0.5-scatterSays/2 && lack >= 0:
		return true
	}
	return false
}

// clear reports whether the train's hits stand out so well that none goes unheard.
func (t train) clear() bool {
	var dB []float64
	for _, h := range t.hits {
		dB = append(dB, h.Strength)
	}
	return middle(dB) > poorDB
}

// even reports whether few hits of a train are missing, all are of a kind, and they
// are the channel's strikes and not what pulses under them.
func (t train) even(all []Hit) bool {
	loud := slices.Sorted(slices.Values(levelsOf(all)))
	if middle(levelsOf(t.hits)) < loud[len(loud)-fewRegular]-fadesDB {
		return false
	}
	return float64(len(t.hits)) > 0.7*float64(t.number[len(t.hits)-1]) && !t.alternates()
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
	limps := math.Abs(middle(gaps[0])-middle(gaps[1])) > limpsBy
	return limps && math.Abs(middle(levels[0])-middle(levels[1])) > clunkBelow
}

// scatter returns how much of the scatter of the lag between two trains lies in
// the second: 1 for all, 0 where it is in the first. The second differences of
// each train are compared with those of the lag between them.
func scatter(first, second []Hit) (share float64, ok bool) {
	crank := calib.NewCrank(times(first))
	release := common(crank, second)
	var a, b []float64 // times of pairs on neighbouring beats
	var inSecond, total, unsure float64
	n, before := 0, 0
	for _, h := range second {
		k, off := crank.Beat(release, h.TimeS)
		at, ok := crank.HitS(k)
		if !ok || math.Abs(off) > 0.1*crank.PeriodMS(float64(k)) {
			continue
		}
		if k != before+1 {
			a, b = nil, nil
		}
		before = k
		a, b = append(a, at), append(b, h.TimeS)
		if m := len(a); m >= 3 {
			d2a, d2b := a[m-1]-2*a[m-2]+a[m-3], b[m-1]-2*b[m-2]+b[m-3]
			inSecond += d2b * (d2b - d2a)
			unsure += square(math.Min(math.Abs(d2a), math.Abs(d2b)) * (d2b - d2a)) // what a crank's own unevenness adds by chance
			total += (d2b - d2a) * (d2b - d2a)
			n++
		}
	}
	if n < 3 || total < float64(n)*leastScatterS*leastScatterS || math.Sqrt(unsure) > scatterSure*total {
		return 0, false
	}
	return inSecond / total, true
}
