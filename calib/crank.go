package calib

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"
)

// Crank is how the machine turned in a take, as the hits of its reference show it.
// Angles are counted in reference hits, missing ones included, from 0 at the first;
// times are in ms from the start of the take.
type Crank struct {
	runs    []run
	hits    map[int]float64 // time in s of each hit, by its number
	numbers map[float64]int // the number of each hit, by its time in s
}

// run is a stretch over which the crank is heard to turn: from hit to hit, where no
// more than one is missing.
type run struct {
	number, atMS []float64
	at, angle    interp.FittablePredictor // time by number, and the other way
}

// lonePeriodMS stands for the period where a single hit shows none.
const lonePeriodMS = 2000

// NewCrank returns the turning that a reference's hits show, in order of time in s.
// Hits that are one too many are left out. It is empty where there are no hits.
func NewCrank(hitsS []float64) Crank {
	k := Crank{hits: map[int]float64{}, numbers: map[float64]int{}}
	before := 0
	for i, link := range numbered(hitsS) {
		at := hitsS[link.hit]
		k.hits[link.number], k.numbers[at] = at, link.number
		if i == 0 || link.number-before > mostApart {
			k.runs = append(k.runs, run{})
		}
		r := &k.runs[len(k.runs)-1]
		r.number, r.atMS = append(r.number, float64(link.number)), append(r.atMS, 1000*at)
		before = link.number
	}
	for i := range k.runs {
		k.runs[i].fit()
	}
	return k
}

// mostApart is how many periods may lie between two hits for what the crank does
// between them to be known: beyond, it may have stood still.
const mostApart = 2

// fit interpolates between the hits.
func (r *run) fit() {
	r.at, r.angle = &interp.NaturalCubic{}, &interp.NaturalCubic{}
	if len(r.number) < 4 {
		r.at, r.angle = &interp.PiecewiseLinear{}, &interp.PiecewiseLinear{}
	}
	if len(r.number) > 1 { // in order and apart from each other, so that no fit fails
		r.at.Fit(r.number, r.atMS)
		r.angle.Fit(r.atMS, r.number)
	}
}

// paceHits is how many periods at either end of a run tell how it goes on.
const paceHits = 4

// pace returns the period in ms at the start or the end of a run.
func (r *run) pace(end bool) float64 {
	n := len(r.number)
	from, to := 0, min(paceHits, n-1)
	if end {
		from, to = max(n-1-paceHits, 0), n-1
	}
	if from == to {
		return lonePeriodMS
	}
	return (r.atMS[to] - r.atMS[from]) / (r.number[to] - r.number[from])
}

// timeMS returns when the crank stands at an angle; beyond its hits it goes on at
// its last pace.
func (r *run) timeMS(angle float64) float64 {
	last := len(r.number) - 1
	switch {
	case angle <= r.number[0]:
		return r.atMS[0] + (angle-r.number[0])*r.pace(false)
	case angle >= r.number[last]:
		return r.atMS[last] + (angle-r.number[last])*r.pace(true)
	}
	return r.at.Predict(angle)
}

// angleAt returns where the crank stands at a time.
func (r *run) angleAt(ms float64) float64 {
	last := len(r.number) - 1
	switch {
	case ms <= r.atMS[0]:
		return r.number[0] + (ms-r.atMS[0])/r.pace(false)
	case ms >= r.atMS[last]:
		return r.number[last] + (ms-r.atMS[last])/r.pace(true)
	}
	return r.angle.Predict(ms)
}

// periodMS returns the mean period round an angle, over so many hits that what the
// crank does within a turn is no part of it.
func (r *run) periodMS(angle float64) float64 {
	last := r.number[len(r.number)-1]
	from, to := math.Max(angle-paceHits, r.number[0]), math.Min(angle+paceHits, last)
	if to-from < 1 {
		return r.pace(angle > r.number[0])
	}
	return (r.timeMS(to) - r.timeMS(from)) / (to - from)
}

// runOf returns the run in which, or nearest to which, an angle lies.
func (k Crank) runOf(angle float64) *run {
	return k.nearest(angle, func(r *run) []float64 { return r.number })
}

// AngleAt returns where the crank stands at a time in s, in reference hits.
func (k Crank) AngleAt(atS float64) float64 {
	ms := 1000 * atS
	return k.nearest(ms, func(r *run) []float64 { return r.atMS }).angleAt(ms)
}

func (k Crank) nearest(x float64, of func(*run) []float64) *run {
	best, least := 0, math.Inf(1)
	for i := range k.runs {
		xs := of(&k.runs[i])
		if off := math.Max(xs[0]-x, x-xs[len(xs)-1]); off < least {
			best, least = i, off
		}
	}
	return &k.runs[best]
}

// Empty reports whether there is no hit to tell anything by.
func (k Crank) Empty() bool { return len(k.runs) == 0 }

// HitS returns the time in s of the hit of a number; where that is missing it is not
// ok, and the time that of the hit nearest to it.
func (k Crank) HitS(number int) (s float64, ok bool) {
	if s, ok = k.hits[number]; ok {
		return s, true
	}
	r := k.runOf(float64(number))
	i, found := slices.BinarySearch(r.number, float64(number))
	if i == len(r.number) || i > 0 && !found && float64(number)-r.number[i-1] < r.number[i]-float64(number) {
		i--
	}
	return r.atMS[i] / 1000, false
}

// Number returns the number of a hit, by its time in s; it is not ok for one that is
// one too many.
func (k Crank) Number(hitS float64) (n int, ok bool) {
	n, ok = k.numbers[hitS]
	return n, ok
}

// PeriodMS returns the time in ms between reference hits round an angle, freed from
// what the crank does within a turn.
func (k Crank) PeriodMS(angle float64) float64 { return k.runOf(angle).periodMS(angle) }

// meanPeriodMS returns the mean time between hits, 0 for fewer than two.
func (k Crank) meanPeriodMS() float64 {
	if len(k.hits) < 2 {
		return 0
	}
	first, last := k.runs[0], k.runs[len(k.runs)-1]
	end := len(last.number) - 1
	return (last.atMS[end] - first.atMS[0]) / last.number[end]
}

// link is a hit of the reference with its number.
type link struct{ hit, number int }

// What it costs to read a reference one way or another, as minus the logarithm of
// how likely that is (common practice, no published source).
const (
	missedCost  = 1.0  // for each hit that is missing between two
	missedMost  = 4    // beyond so many it is one fault that costs no more
	extraCost   = 1.5  // for a hit that is one too many
	extraMost   = 2    // in a row
	paceSD      = 0.06 // of the period, by which it changes from hit to hit
	paceCost    = 4.0  // for the period to change to any other
	startPeriod = 3    // periods that the first gap may span
)

// way is the best way to read the hits up to one.
type way struct {
	before, of int // the hit before, and which of its ways; −1 at the start
	periods    int // from there
	ms         float64
	cost       float64
}

// numbered returns the hits of a reference with their numbers: the most likely way
// to read them, in which the period changes slowly though perhaps by far, some hits
// are missing and some are one too many, by dynamic programming over what lies
// between each two.
func numbered(hitsS []float64) []link {
	ways := make([][]way, len(hitsS))
	for j := range hitsS {
		if j <= extraMost {
			ways[j] = []way{{before: -1, cost: extraCost * float64(j)}}
		}
		for i := j - 1; i >= max(0, j-1-extraMost); i-- {
			if gap := hitsS[j] - hitsS[i]; gap > 0 {
				ways[j] = extend(ways[j], ways[i], i, gap, extraCost*float64(j-i-1))
			}
		}
	}
	at, of, least := -1, -1, math.Inf(1)
	for j := max(0, len(hitsS)-1-extraMost); j < len(hitsS); j++ {
		for w := range ways[j] {
			if cost := ways[j][w].cost + extraCost*float64(len(hitsS)-1-j); cost < least {
				at, of, least = j, w, cost
			}
		}
	}
	var back []link
	for number := 0; at >= 0; {
		w := ways[at][of]
		back = append(back, link{at, number})
		number -= w.periods
		at, of = w.before, w.of
	}
	slices.Reverse(back)
	for i := len(back) - 1; i >= 0; i-- {
		back[i].number -= back[0].number
	}
	return back
}

// extend adds the ways that go on from those of an earlier hit after a gap; of
// those that read the gap alike, the best.
func extend(ways, from []way, i int, gap, cost float64) []way {
	for of, w := range from {
		most, usual := startPeriod, 0
		if w.ms > 0 {
			most, usual = mostApart, int(math.Round(gap/w.ms))
		}
		for n := 1; n <= max(most, usual); n++ {
			if n > most && n != usual {
				n = usual
			}
			next := way{i, of, n, gap / float64(n), w.cost + cost + missedCost*math.Min(float64(n-1), missedMost)}
			if w.ms > 0 {
				x := next.ms / w.ms
				next.cost += math.Min(square((x-1/x)/2/paceSD)/2, paceCost)
			}
			k := slices.IndexFunc(ways, func(o way) bool { return o.before == i && o.periods == n })
			switch {
			case k < 0:
				ways = append(ways, next)
			case next.cost < ways[k].cost:
				ways[k] = next
			}
		}
	}
	return ways
}
