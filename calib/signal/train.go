package signal

import (
	"cmp"
	"math"
	"slices"
)

const (
	offGrid     = 0.12 // of the period: a gap this far from whole periods is irregular
	unevenSD    = 0.03 // of the period: by how much gaps change from one to the next, wow and drift together
	ticksMissed = 4    // whole periods that a gap in the train may span
	fadesDB     = 16   // below the usual, a hit counts for nothing
	missedCost  = 0.7  // of a usual hit, for each hit that the train lacks
	brokenCost  = 3    // of usual hits, for a jump in the train's phase or pace
	paceJump    = 1.5  // times, by which the pace may jump
	paceRange   = 3    // times, by which it may be another at the start than it is mostly
	settling    = 0.4  // of the newest gap in the running period
	fewRegular  = 4    // hits that make a train
	shortestS   = 0.08 // period of a train
	longestS    = 4.0
	lookBack    = 48 // hits before one that it may follow
	hypotheses  = 12 // periods tried
)

// link is what the best train that ends with a hit looks like.
type link struct {
	score   float64
	before  int     // the hit before, or -1
	periods int     // from there
	periodS float64 // the running period
}

// train is a regular sequence of hits.
type train struct {
	hits   []Hit
	number []int // of each hit, those missing counted
	score  float64
}

// regular returns the hits of the most regular train among a channel's hits: the
// best chain, by dynamic programming, in which each hit follows the one before
// after a whole number of periods that change slowly. A missing or an
// additional hit costs a little; loud hits count for more. The reference turns
// with the crank, so what does not fit its train is another sound.
func regular(hits []Hit) train {
	best := train{hits: hits, number: make([]int, len(hits))}
	for i := range hits {
		best.number[i] = i
	}
	if len(hits) < fewRegular {
		return best
	}
	weights, full := make([]float64, len(hits)), ownLevel(hits, usualShare)
	for i, h := range hits {
		weights[i] = min(max(1+(h.Level-full)/fadesDB, -0.3), 1.2) // 1 for a usual hit, less for the quiet
	}
	early := len(hits) / 4 // a crank that gets faster begins at a pace that is rare later on
	for _, period := range slices.Concat(periods(hits, weights, hypotheses), periods(hits[:early], weights[:early], hypotheses/4)) {
		if t := chain(hits, weights, period); t.score > best.score {
			best = t
		}
	}
	return best
}

// periods returns so many times between hits that occur most, weighed by loudness.
func periods(hits []Hit, weights []float64, most int) []float64 {
	const bins = 320 // in the logarithm, about 1.3 % each
	step := math.Log(longestS/shortestS) / bins
	count := make([]float64, bins+1)
	for i := range hits {
		for j := i + 1; j < min(len(hits), i+lookBack); j++ {
			gap := hits[j].TimeS - hits[i].TimeS
			if gap > longestS {
				break
			}
			if gap >= shortestS {
				count[int(math.Log(gap/shortestS)/step)] += min(weights[i], weights[j]) / gap // or multiples would crowd the period out
			}
		}
	}
	smooth := make([]float64, len(count))
	for i := range count {
		smooth[i] = 2 * count[i]
		for d := 1; d <= 2; d++ {
			smooth[i] += count[max(i-d, 0)] + count[min(i+d, bins)]
		}
	}
	order := make([]int, len(count))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(smooth[b], smooth[a]) })
	var found []float64
	taken := make([]bool, len(count))
	for _, i := range order {
		if len(found) == most || smooth[i] == 0 {
			break
		}
		if !taken[i] {
			found = append(found, shortestS*math.Exp(step*(float64(i)+0.5)))
			for d := -2; d <= 2; d++ {
				taken[min(max(i+d, 0), bins)] = true
			}
		}
	}
	return found
}

// chain returns the best train that begins at about a period.
func chain(hits []Hit, weights []float64, period float64) train {
	links := make([]link, len(hits))
	last, top := -1, -1 // the best end of a train, so far and of all
	for j := range hits {
		links[j] = link{weights[j], -1, 0, period}
		for i := j - 1; i >= max(0, j-lookBack); i-- {
			gap := hits[j].TimeS - hits[i].TimeS
			if l, ok := links[i].extend(i, gap, weights[j]); ok && l.score > links[j].score {
				links[j] = l
			}
		}
		if last >= 0 && links[last].score-brokenCost+weights[j] > links[j].score {
			l := links[last]
			n := max(1, int(math.Round((hits[j].TimeS-hits[last].TimeS)/l.periodS)))
			links[j] = link{l.score - brokenCost + weights[j], last, n, l.periodS}
		}
		// A train may go on after a jump only from hits well in the past.
		if last < 0 || links[j].score > links[last].score {
			last = j
		}
		if top < 0 || links[j].score > links[top].score {
			top = j
		}
	}
	return unroll(hits, links, top)
}

// extend returns the train that goes on after a gap with a hit of a weight. For as
// much as its phase may jump, its pace may, as where somebody turns faster at once.
func (l link) extend(from int, gap, weight float64) (link, bool) {
	n := math.Max(1, math.Round(gap/l.periodS))
	off := gap/(n*l.periodS) - 1
	switch {
	case n <= ticksMissed && math.Abs(gap-n*l.periodS) <= offGrid*l.periodS:
		e := off * n / math.Sqrt(n) / unevenSD
		return link{l.score + weight - missedCost*(n-1) - 0.1*e*e, from, int(n), l.periodS * (1 + settling*off)}, true
	case gap < paceJump*l.periodS && l.periodS < paceJump*gap, l.before < 0 && gap < paceRange*l.periodS && l.periodS < paceRange*gap:
		return link{l.score + weight - brokenCost, from, 1, gap}, true
	}
	return link{}, false
}

func unroll(hits []Hit, links []link, at int) train {
	t := train{score: links[at].score}
	var order []int
	for ; at >= 0; at = links[at].before {
		order = append(order, at)
	}
	slices.Reverse(order)
	number := 0
	for _, at := range order {
		number += links[at].periods
		t.hits, t.number = append(t.hits, hits[at]), append(t.number, number)
	}
	return t
}
