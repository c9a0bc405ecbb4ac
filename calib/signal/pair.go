package signal

import (
	"math"

	"lagwright/calib"
)

// Pairs puts each voice hit beside the reference hit it belongs to, in order of
// time. True strikes agree on when they are due after the crank's turning, at all
// its tempos, so the release that most of the loud voice hits share is found first;
// each voice hit then belongs to the beat that it comes nearest to. Where several
// voice hits claim one reference hit, the nearest to the common lag is used and
// the others are kept as rejected pairs, and so are hits without a reference
// and, where opt.Every says how many beats lie between voice hits, those between.
func Pairs(reference, voice []Hit, opt Options) []calib.Pair {
	opt = opt.filled()
	if len(reference) == 0 || len(voice) == 0 {
		return nil
	}
	crank := calib.NewCrank(times(reference))
	release := common(crank, voice)
	pairs := make([]calib.Pair, len(voice))
	off := make([]float64, len(voice))
	claims := map[int]int{} // beat to the voice hit that has it
	for i, v := range voice {
		n, offMS := crank.Beat(release, v.TimeS)
		at, ok := crank.HitS(n)
		off[i] = math.Abs(offMS) / 1000
		pairs[i] = calib.Pair{ReferenceS: at, VoiceS: v.TimeS, LagMS: 1000 * (v.TimeS - at), Used: true}
		rival, taken := claims[n]
		switch {
		case !ok || off[i] > reachPeriods*crank.PeriodMS(float64(n))/1000:
			reject(&pairs[i], calib.ReasonNoReference)
		case !taken:
			claims[n] = i
		case off[i] < off[rival]:
			reject(&pairs[rival], calib.ReasonBounce)
			claims[n] = i
		default:
			reject(&pairs[i], calib.ReasonBounce)
		}
	}
	gate(pairs, off, voice)
	rejectRebounds(pairs, voice)
	explain(pairs, claims)
	if opt.Every > 0 {
		rejectOffBeat(pairs, claims, voice, opt.Every*opt.PerBeat)
	}
	return pairs
}

const (
	gateSD    = 6
	gateLeast = 0.006 // s
	gateNear  = 0.030 // s, within which the scatter of the hits is looked for
)

// gate rejects the pairs that lie further from the common lag than the scatter of those near
// it allows, and all lesser sounds where most of them lie elsewhere.
func gate(pairs []calib.Pair, off []float64, voice []Hit) {
	var near []float64
	for i, p := range pairs {
		if p.Used && off[i] < gateNear {
			near = append(near, off[i])
		}
	}
	limit := max(gateLeast, gateSD*1.4826*median(near))
	loud := ownLevel(voice, upperShare) - ownDB
	var inside []int
	lesser := 0
	for i, v := range voice {
		if pairs[i].Used && off[i] > limit {
			reject(&pairs[i], calib.ReasonAway)
		}
		if v.Level <= loud {
			lesser++
			if pairs[i].Used {
				inside = append(inside, i)
			}
		}
	}
	for _, i := range inside {
		if 2*len(inside) < lesser {
			reject(&pairs[i], calib.ReasonAway)
		}
	}
}

func reject(p *calib.Pair, reason string) { p.Used, p.Reason = false, reason }

const (
	bounceS  = 0.16 // shot rebounds, and second drops fall, within this time
	bounceDB = 6    // a rebound is weaker by at least this much
)

// bounced reports whether a hit follows closely on a much louder one of some.
func bounced(voice []Hit, i int, of func(j int) bool) bool {
	for j := i - 1; j >= 0 && voice[i].TimeS-voice[j].TimeS < bounceS; j-- {
		if of(j) && voice[j].Level-voice[i].Level > bounceDB {
			return true
		}
	}
	return false
}

// rejectRebounds rejects the rebounds of used strikes, which may fall as far from a
// tick between beats as the strike from its beat.
func rejectRebounds(pairs []calib.Pair, voice []Hit) {
	for i := range pairs {
		if pairs[i].Used && bounced(voice, i, func(j int) bool { return pairs[j].Used }) {
			reject(&pairs[i], calib.ReasonBounce)
		}
	}
}

// explain calls a hit that has no reference hit, but follows a used one
// closely, what it is, and one that comes before the strike too.
func explain(pairs []calib.Pair, claims map[int]int) {
	for _, winner := range claims {
		for i := winner - 1; i >= 0 && pairs[i].ReferenceS == pairs[winner].ReferenceS; i-- {
			if pairs[i].Reason == calib.ReasonBounce {
				reject(&pairs[i], calib.ReasonBefore)
			}
		}
	}
	last := math.Inf(-1)
	for i := range pairs {
		switch p := &pairs[i]; {
		case p.Used:
			last = p.VoiceS
		case p.Reason == calib.ReasonNoReference && p.VoiceS-last < bounceS:
			p.Reason = calib.ReasonBounce
		}
	}
}

// reachPeriods is how far, in periods, a voice hit may be from when it is due to have
// a reference hit at all.
const reachPeriods = 0.25

// common returns the release that the loud voice hits agree on, each with its energy
// for a weight.
func common(crank calib.Crank, voice []Hit) calib.Release {
	full := ownLevel(voice, upperShare)
	var at, weight []float64
	for i, v := range voice {
		if !bounced(voice, i, func(int) bool { return true }) {
			at, weight = append(at, v.TimeS), append(weight, math.Min(1, math.Pow(10, (v.Level-full)/10)))
		}
	}
	return crank.Find(at, weight)
}

// rejectOffBeat rejects the used pairs that are not a whole number of
// programme steps, each of every reference hits, from the others.
func rejectOffBeat(pairs []calib.Pair, claims map[int]int, voice []Hit, every int) {
	weight := make([]float64, every)
	full := ownLevel(voice, usualShare)
	for n, i := range claims {
		weight[n%every] += math.Min(1, math.Pow(10, (voice[i].Level-full)/10))
	}
	on := 0
	for phase := range weight {
		if weight[phase] > weight[on]*(1+1e-9) {
			on = phase
		}
	}
	for n, i := range claims {
		if n%every != on {
			reject(&pairs[i], calib.ReasonOffBeat)
		}
	}
}
