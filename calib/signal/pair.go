package signal

import (
	"math"
	"slices"

	"lagwright/calib"
)

// Reasons of rejected pairs.
const (
	ReasonBounce      = "bounce or double drop"
	ReasonNoReference = "no reference hit near"
	ReasonOffBeat     = "not on a beat of the programme"
)

// Pairs puts each voice hit beside the reference hit it belongs to, in order of
// time. The lags of true pairs agree, so the lag that most of the loud voice
// hits share is found first, up to whole reference periods; each voice hit then
// belongs to the reference hit that brings it nearest to that lag. Where several
// voice hits claim one reference hit, the nearest to the common lag is used and
// the others are kept as rejected pairs, and so are hits without a reference
// and, where opt.Every says how many beats lie between voice hits, those between.
func Pairs(reference, voice []Hit, opt Options) []calib.Pair {
	opt = opt.filled()
	if len(reference) == 0 || len(voice) == 0 {
		return nil
	}
	g := newGrid(reference)
	lagS := g.commonLag(voice)
	pairs := make([]calib.Pair, len(voice))
	claims := map[int]int{} // reference hit to the voice hit that has it
	for i, v := range voice {
		k := g.nearest(v.TimeS - lagS)
		off := math.Abs(v.TimeS - lagS - g.hitsS[k])
		pairs[i] = calib.Pair{ReferenceS: g.hitsS[k], VoiceS: v.TimeS, LagMS: 1000 * (v.TimeS - g.hitsS[k]), Used: true}
		rival, taken := claims[k]
		switch {
		case bounced(voice, i):
			reject(&pairs[i], ReasonBounce)
		case off > g.reachS():
			reject(&pairs[i], ReasonNoReference)
		case !taken:
			claims[k] = i
		case off < math.Abs(pairs[rival].LagMS/1000-lagS):
			reject(&pairs[rival], ReasonBounce)
			claims[k] = i
		default:
			reject(&pairs[i], ReasonBounce)
		}
	}
	explain(pairs)
	if opt.Every > 0 {
		g.rejectOffBeat(pairs, claims, voice, opt.Every*opt.PerBeat)
	}
	return pairs
}

func reject(p *calib.Pair, reason string) { p.Used, p.Reason = false, reason }

const (
	bounceS  = 0.16 // shot rebounds, and second drops fall, within this time
	bounceDB = 6    // a rebound is weaker by at least this much
)

// bounced reports whether a hit follows a much louder one closely.
func bounced(voice []Hit, i int) bool {
	for j := i - 1; j >= 0 && voice[i].TimeS-voice[j].TimeS < bounceS; j-- {
		if voice[j].Level-voice[i].Level > bounceDB {
			return true
		}
	}
	return false
}

// explain calls a hit that has no reference hit, but follows a used one
// closely, what it is.
func explain(pairs []calib.Pair) {
	last := math.Inf(-1)
	for i := range pairs {
		switch p := &pairs[i]; {
		case p.Used:
			last = p.VoiceS
		case p.Reason == ReasonNoReference && p.VoiceS-last < bounceS:
			p.Reason = ReasonBounce
		}
	}
}

// grid is the reference: its hits and the time between them.
type grid struct {
	hitsS   []float64
	periodS float64 // median time from hit to hit; 0 where there is one hit only
}

func newGrid(reference []Hit) grid {
	g := grid{hitsS: times(reference)}
	g.periodS = medianGap(g.hitsS)
	return g
}

const (
	reachPeriods = 0.25 // a voice hit further from the common lag than this has no reference hit
	loneReachS   = 0.5  // the same in s, where there is no period
)

func (g grid) reachS() float64 {
	if g.periodS == 0 {
		return loneReachS
	}
	return reachPeriods * g.periodS
}

// nearest returns the index of the reference hit nearest to a time.
func (g grid) nearest(t float64) int {
	i, _ := slices.BinarySearch(g.hitsS, t)
	if i == len(g.hitsS) || i > 0 && t-g.hitsS[i-1] < g.hitsS[i]-t {
		return i - 1
	}
	return i
}

// looks is how many places are looked at for the best of many hits, so that the
// work does not grow with the square of their number.
const looks = 256

// commonWidthS is how closely lags of true pairs agree, for finding them.
const commonWidthS = 0.012

// vote is one voice hit's say in the common lag: its energy.
type vote struct{ lagS, weight float64 }

// commonLag returns the lag in s, within half a reference period either side of
// zero, round which the loud voice hits lie; of several alike, the one nearest
// to zero. Lags a whole period apart count as one.
func (g grid) commonLag(voice []Hit) float64 {
	full := usual(voice)
	var votes []vote
	for i, v := range voice {
		if !bounced(voice, i) {
			w := math.Min(1, math.Pow(10, (v.Level-full)/10))
			votes = append(votes, vote{v.TimeS - g.hitsS[g.nearest(v.TimeS)], w})
		}
	}
	best, most := 0.0, 0.0
	for i := 0; i < len(votes); i += 1 + len(votes)/looks {
		sum, lag := g.poll(votes, votes[i].lagS)
		if sum > most*(1+1e-9) || sum > most*(1-1e-9) && math.Abs(lag) < math.Abs(best) {
			best, most = lag, sum
		}
	}
	return best
}

// poll returns how much weight lies round a lag, and its centre.
func (g grid) poll(votes []vote, lagS float64) (sum, centre float64) {
	var shift float64
	for _, v := range votes {
		d := g.wrap(v.lagS - lagS)
		w := v.weight * math.Max(0, 1-math.Abs(d)/commonWidthS)
		sum, shift = sum+w, shift+w*d
	}
	return sum, g.wrap(lagS + shift/sum)
}

// wrap returns a lag within half a period of zero.
func (g grid) wrap(lag float64) float64 {
	if g.periodS == 0 {
		return lag
	}
	return lag - g.periodS*math.Round(lag/g.periodS)
}

// rejectOffBeat rejects the used pairs that are not a whole number of
// programme steps, each of every reference hits, from the others.
func (g grid) rejectOffBeat(pairs []calib.Pair, claims map[int]int, voice []Hit, every int) {
	number := g.numbers()
	weight := make([]float64, every)
	full := usual(voice)
	for k, i := range claims {
		weight[number[k]%every] += math.Min(1, math.Pow(10, (voice[i].Level-full)/10))
	}
	on := 0
	for phase := range weight {
		if weight[phase] > weight[on]*(1+1e-9) {
			on = phase
		}
	}
	for k, i := range claims {
		if number[k]%every != on {
			reject(&pairs[i], ReasonOffBeat)
		}
	}
}

// numbers counts the reference hits, missing ones included.
func (g grid) numbers() []int {
	n := make([]int, len(g.hitsS))
	for i := 1; i < len(n); i++ {
		n[i] = n[i-1] + max(1, int(math.Round((g.hitsS[i]-g.hitsS[i-1])/g.periodS)))
	}
	return n
}
