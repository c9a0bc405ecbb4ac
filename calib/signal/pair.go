package signal

import (
	"math"
	"slices"

	"lagwright/calib"
)

// Reasons of rejected pairs.
const (
	ReasonBounce      = calib.ReasonBounce
	ReasonNoReference = calib.ReasonNoReference
	ReasonAway        = calib.ReasonAway
	ReasonOffBeat     = calib.ReasonOffBeat
	ReasonBefore      = calib.ReasonBefore
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
	l := g.commonLag(voice)
	pairs := make([]calib.Pair, len(voice))
	off := make([]float64, len(voice))
	claims := map[int]int{} // reference hit to the voice hit that has it
	for i, v := range voice {
		k := g.belongs(v.TimeS, l)
		off[i] = math.Abs(v.TimeS - g.hitsS[k] - l.at(g.periods[k]))
		pairs[i] = calib.Pair{ReferenceS: g.hitsS[k], VoiceS: v.TimeS, LagMS: 1000 * (v.TimeS - g.hitsS[k]), Used: true}
		rival, taken := claims[k]
		switch {
		case off[i] > g.reachS():
			reject(&pairs[i], ReasonNoReference)
		case !taken:
			claims[k] = i
		case off[i] < off[rival]:
			reject(&pairs[rival], ReasonBounce)
			claims[k] = i
		default:
			reject(&pairs[i], ReasonBounce)
		}
	}
	gate(pairs, off)
	rejectRebounds(pairs, voice)
	g.explain(pairs, claims)
	if opt.Every > 0 {
		g.rejectOffBeat(pairs, claims, voice, opt.Every*opt.PerBeat)
	}
	return pairs
}

const (
	gateSD    = 6
	gateLeast = 0.006 // s
	gateNear  = 0.030 // s, within which the scatter of the hits is looked for
)

// gate rejects the pairs that lie further from the common lag than the scatter
// of those near it allows.
func gate(pairs []calib.Pair, off []float64) {
	var near []float64
	for i, p := range pairs {
		if p.Used && off[i] < gateNear {
			near = append(near, off[i])
		}
	}
	limit := max(gateLeast, gateSD*1.4826*middle(near))
	for i := range pairs {
		if pairs[i].Used && off[i] > limit {
			reject(&pairs[i], ReasonAway)
		}
	}
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

// rejectRebounds rejects the rebounds of used strikes, which may fall as far from a
// tick between beats as the strike from its beat.
func rejectRebounds(pairs []calib.Pair, voice []Hit) {
	for i := range pairs {
		for j := i - 1; j >= 0 && voice[i].TimeS-voice[j].TimeS < bounceS && pairs[i].Used; j-- {
			if pairs[j].Used && voice[j].Level-voice[i].Level > bounceDB {
				reject(&pairs[i], ReasonBounce)
			}
		}
	}
}

// explain calls a hit that has no reference hit, but follows a used one
// closely, what it is, and one that comes before the strike too.
func (g grid) explain(pairs []calib.Pair, claims map[int]int) {
	for k, winner := range claims {
		for i := winner - 1; i >= 0 && pairs[i].ReferenceS == g.hitsS[k]; i-- {
			if pairs[i].Reason == ReasonBounce {
				reject(&pairs[i], ReasonBefore)
			}
		}
	}
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
	periods []float64 // time from the hit before to each hit, whole periods missed left out
	periodS float64   // median time from hit to hit; 0 where there is one hit only
}

func newGrid(reference []Hit) grid {
	g := grid{hitsS: times(reference)}
	g.periodS = medianGap(g.hitsS)
	g.periods = make([]float64, len(g.hitsS))
	for i := 1; i < len(g.hitsS); i++ {
		gap := g.hitsS[i] - g.hitsS[i-1]
		g.periods[i] = gap / math.Max(1, math.Round(gap/g.periodS))
		if !whole(gap, g.periodS) {
			g.periods[i] = g.periodS
		}
	}
	if len(g.periods) > 1 {
		g.periods[0] = g.periods[1]
	}
	return g
}

func whole(gap, period float64) bool {
	n := math.Max(1, math.Round(gap/period))
	return math.Abs(gap-n*period) < 2*offGrid*period
}

// lagLine is the common lag, which follows the local period by an angle.
type lagLine struct {
	lagS    float64
	beats   float64 // change of lag per change of period
	periodS float64 // at which lagS holds
}

func (l lagLine) at(periodS float64) float64 { return l.lagS + l.beats*(periodS-l.periodS) }

// belongs returns the index of the reference hit that brings a voice hit nearest
// to the common lag.
func (g grid) belongs(t float64, l lagLine) int {
	k := g.nearest(t - l.lagS)
	best, least := k, math.Inf(1)
	for i := max(k-1, 0); i <= min(k+1, len(g.hitsS)-1); i++ {
		if off := math.Abs(t - g.hitsS[i] - l.at(g.periods[i])); off < least {
			best, least = i, off
		}
	}
	return best
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
type vote struct{ lagS, periodS, weight float64 }

const (
	uneven       = 0.008 // spread of the local periods below which no angle shows
	angleMustGet = 1.05  // times the votes that no angle gets
)

// commonLag returns the lag, within half a reference period either side of zero,
// round which the loud voice hits lie; of several alike, the one nearest to
// zero. Lags a whole period apart count as one. Where the tempo changes, so may
// the lag, in proportion.
func (g grid) commonLag(voice []Hit) lagLine {
	full := upper(voice)
	var votes []vote
	for i, v := range voice {
		if !bounced(voice, i) {
			k := g.nearest(v.TimeS)
			w := math.Min(1, math.Pow(10, (v.Level-full)/10))
			votes = append(votes, vote{v.TimeS - g.hitsS[k], g.periods[k], w})
		}
	}
	best, most := g.mode(votes, 0)
	if spread := g.spread(); spread < uneven*g.periodS || len(votes) < enoughToJudge {
		return best
	}
	need := most * angleMustGet
	for _, angle := range []float64{-0.25, 0.25, -0.5, 0.5, -0.75, 0.75} {
		if l, sum := g.mode(votes, angle); sum > need {
			best, need = l, sum
		}
	}
	return best
}

// spread returns by how much the local periods differ.
func (g grid) spread() float64 {
	p := slices.Sorted(slices.Values(g.periods))
	return p[len(p)-1-len(p)/10] - p[len(p)/10]
}

// mode returns the lag at which votes are densest if it follows the period by an
// angle, and how much weight lies there.
func (g grid) mode(votes []vote, angle float64) (lagLine, float64) {
	best, most := 0.0, 0.0
	turned := make([]vote, len(votes))
	for i, v := range votes {
		turned[i] = vote{v.lagS - angle*(v.periodS-g.periodS), v.periodS, v.weight}
	}
	for i := 0; i < len(turned); i += 1 + len(turned)/looks {
		sum, lag := g.poll(turned, turned[i].lagS)
		if sum > most*(1+1e-9) || sum > most*(1-1e-9) && math.Abs(lag) < math.Abs(best) {
			best, most = lag, sum
		}
	}
	return lagLine{best, angle, g.periodS}, most
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
