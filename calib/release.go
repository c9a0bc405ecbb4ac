package calib

import (
	"math"
	"slices"
)

// Release is where and when a voice is let go, so far as a take by itself tells:
//
//	strike = crank(n + Angle) + DelayMS
//
// with crank(u) the time at which the crank has turned by u reference hits, and n
// the number of the reference hit on the voice's beat.
type Release struct {
	DelayMS float64 // gate and fall, which take the same time at every tempo
	Angle   float64 // reference hits from the beat to the release; negative = before the beat
}

// Places that are looked at for the delay, in ms, and how closely the strikes of a
// voice agree, for finding it. What is usual is told by usualDelay.
const (
	delayLeast, delayMost, delayStep = -48, 680, 8
	agreeMS                          = 12
	delayFavour                      = 0.05 // of the votes that a usual delay gets more than an odd one
	nearZero                         = 1e-6 // the same for a lag near zero
	votesMost                        = 256  // strikes that are asked: the work does not grow with a take
	binMS                            = 5
	refineMS                         = 30 // strikes nearer than this to where they should be refine it
)

// Find returns the release that most of a voice's strikes agree on, each with a
// weight: votes over a grid of delay and angle (Hough 1962, from memory), refined by least
// squares. The angle is told up to whole hits; it is the one that brings the lag at
// the mean period nearest to zero. Without strikes or a crank it is the usual one.
func (k Crank) Find(voiceS, weight []float64) Release {
	best, most := Release{DelayMS: usualDelay.Mean}, 0.0
	if k.Empty() {
		return best
	}
	step := 1 + len(voiceS)/votesMost
	var periods, total float64
	for i := 0; i < len(voiceS); i += step {
		periods, total = periods+weight[i]*k.PeriodMS(k.AngleAt(voiceS[i])), total+weight[i]
	}
	period := periods / total
	if !(period > 0) {
		return best
	}
	count := make([]float64, min(max(int(period/binMS), 64), 512))
	for delay := float64(delayLeast); delay <= delayMost; delay += delayStep {
		clear(count)
		for i := 0; i < len(voiceS); i += step {
			angle := k.AngleAt(voiceS[i] - delay/1000)
			poll(count, angle, agreeMS/k.PeriodMS(angle), weight[i])
		}
		favour := 1 - delayFavour + delayFavour*math.Exp(-square((delay-usualDelay.Mean)/usualDelay.SD)/2)
		for bin, votes := range count {
			angle := float64(bin) / float64(len(count))
			angle -= math.Round(angle + delay/period)
			if score := votes * favour * (1 - nearZero*math.Abs(angle+delay/period)); score > most*(1+1e-9) {
				best, most = Release{delay, angle}, score
			}
		}
	}
	for range 2 {
		best, _ = k.refine(k.near(voiceS, weight, best), best)
	}
	best.Angle -= math.Round(best.Angle + best.DelayMS/period)
	return best
}

// poll adds a weight to the bins round an angle, the less the further off they are.
func poll(count []float64, angle, width, weight float64) {
	n := float64(len(count))
	at := (angle - math.Floor(angle)) * n
	width = math.Min(math.Max(width*n, 1), n) // of a crank too fast to be one, no more than all
	for bin := math.Ceil(at - width); bin <= at+width; bin++ {
		count[(int(bin)+len(count))%len(count)] += weight * (1 - math.Abs(bin-at)/width)
	}
}

// Beat returns the number of the reference hit whose beat a strike of the voice
// comes nearest to, and by how many ms it is later than the release says.
func (k Crank) Beat(r Release, voiceS float64) (number int, offMS float64) {
	n := math.Round(k.AngleAt(voiceS-r.DelayMS/1000) - r.Angle)
	return int(n), 1000*voiceS - k.strikeMS(r, n)
}

// strikeMS returns when the strike of a beat is due.
func (k Crank) strikeMS(r Release, number float64) float64 {
	return k.runOf(number).timeMS(number+r.Angle) + r.DelayMS
}

// turnMS returns how long the crank takes to turn by an angle from a hit.
func (k Crank) turnMS(angle, number float64) float64 {
	r := k.runOf(number)
	return r.timeMS(number+angle) - r.timeMS(number)
}

// strike is one that belongs to a beat.
type strike struct{ number, atMS, weight float64 }

// near returns the strikes that come about when they are due.
func (k Crank) near(voiceS, weight []float64, r Release) (some []strike) {
	for i, s := range voiceS {
		if n, off := k.Beat(r, s); math.Abs(off) < refineMS {
			some = append(some, strike{float64(n), 1000 * s, weight[i]})
		}
	}
	return some
}

// tukey is where Tukey's biweight ends, in standard deviations: 95 % efficient where
// all strikes are as they should be (Beaton and Tukey 1974, Technometrics 16:147, from memory).
const tukey = 4.685

// refine returns the release nearest to one given that fits strikes best, wild ones
// left out by Tukey's biweight, by iteratively reweighted Gauss–Newton steps. What
// the strikes do not tell of the delay, as at a steady tempo, is the usual one.
//
// angleSD is the standard uncertainty of the angle.
func (k Crank) refine(strikes []strike, r Release) (best Release, angleSD float64) {
	for range 25 {
		left := k.left(strikes, r)
		if len(left) == 0 {
			break
		}
		sd := math.Max(madScale*mad(left), leastScatterMS)
		for i := range left {
			left[i] = strikes[i].weight * square(math.Max(0, 1-square(left[i]/(tukey*sd))))
		}
		e, belief := k.normal(strikes, left, r), square(sd/usualDelay.SD)
		next := e.solve(belief, usualDelay.Mean, r)
		angleSD = sd * math.Sqrt((e.sum+belief)/((e.sum+belief)*e.square-e.period*e.period))
		moved := math.Abs(next.DelayMS-r.DelayMS) + 1000*math.Abs(next.Angle-r.Angle)
		if r = next; moved < 1e-7 {
			break
		}
	}
	return r, angleSD
}

// left returns by how many ms each strike is later than a release says.
func (k Crank) left(strikes []strike, r Release) []float64 {
	left := make([]float64, len(strikes))
	for i, s := range strikes {
		left[i] = s.atMS - k.strikeMS(r, s.number)
	}
	return left
}

// normal is the normal equations of a release, linear about one.
type normal struct {
	sum, period, square float64 // of the weights, with the local period and with its square
	off, turn           float64 // of what is left, and with the local period
}

const small = 0.02 // of a period, over which it does not change

func (k Crank) normal(strikes []strike, weight []float64, r Release) (e normal) {
	for i, s := range strikes {
		run := k.runOf(s.number)
		at := s.number + r.Angle
		period := (run.timeMS(at+small) - run.timeMS(at-small)) / (2 * small)
		e.add(weight[i], period, s.atMS-run.timeMS(at)-r.DelayMS)
	}
	return e
}

func (e *normal) add(weight, period, off float64) {
	e.sum, e.period, e.square = e.sum+weight, e.period+weight*period, e.square+weight*period*period
	e.off, e.turn = e.off+weight*off, e.turn+weight*off*period
}

// solve returns the release that the equations lead to from r, with a belief in a
// delay that weighs as much as some strikes.
func (e normal) solve(belief, delayMS float64, r Release) Release {
	sum, off := e.sum+belief, e.off+belief*(delayMS-r.DelayMS)
	det := sum*e.square - e.period*e.period
	if !(det > 0) {
		return r
	}
	return Release{
		DelayMS: r.DelayMS + (off*e.square-e.turn*e.period)/det,
		Angle:   r.Angle + (e.turn*sum-off*e.period)/det,
	}
}

// leastScatterMS is from hit to hit the least that any gate does (common
// practice, no published source).
const leastScatterMS = 0.3

// usable leaves of pairs those that count and whose reference hit has a number.
func (k Crank) usable(pairs []Pair) (strikes []strike, of []int) {
	for i, p := range pairs {
		if n, ok := k.numbers[p.ReferenceS]; ok && p.Used {
			strikes, of = append(strikes, strike{float64(n), 1000 * p.VoiceS, 1}), append(of, i)
		}
	}
	return strikes, of
}

// releaseOf returns the release that strikes with known beats agree on.
func (k Crank) releaseOf(strikes []strike) (r Release, angleSD float64) {
	var voiceS, weight []float64
	var shift []int // whole hits by which the release found is off the beats known
	for _, s := range strikes {
		voiceS, weight = append(voiceS, s.atMS/1000), append(weight, 1)
	}
	r = k.Find(voiceS, weight)
	for i, s := range strikes {
		n, _ := k.Beat(r, voiceS[i])
		shift = append(shift, n-int(s.number))
	}
	slices.Sort(shift)
	r.Angle += float64(shift[len(shift)/2])
	return k.refine(strikes, r)
}
