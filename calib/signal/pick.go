package signal

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

const (
	noiseS   = 0.040  // of sound before a candidate, to learn its noise from
	guardS   = 0.0025 // the last of it, which may already be the hit
	beforeS  = 0.010  // the onset lies at most this long before the trigger
	afterS   = 0.006  // the attack is over this long after the trigger
	tailS    = 0.0010 // of sound after the attack's peak that the criterion sees
	narrowS  = 0.0015 // the second look sees this long beyond the first pick
	evidence = 25     // log-likelihood ratio below which a second look tells nothing
	stands   = 30     // times the power of what was before, that of a first sound; noise that swells does less
	standing = 4      // the same in an average of many hits, which do not swell together
	nothing  = 1e-4   // of the strike's peak energy: what is weaker is no part of it, however quiet the room
)

// onset is a picked candidate, in samples from the start of its window.
type onset struct {
	first float64 // where the sound first leaves the noise
	main  float64 // where the rise to the peak begins: later than first under a leak
	hides float64 // amplitude that a sound before it may have unheard, as a share of the attack's peak
}

// pick finds where a sound begins that was triggered at sample at, in an average of some
// hits or in one; from and quiet bound what is noise alone. ok is false where nothing begins.
// The mean of the noise is taken out of x.
func pick(x []float64, at, from, quiet, hits int, rate float64) (o onset, ok bool) {
	samples := func(s float64) int { return int(math.Ceil(s * rate)) }
	from = min(from, at)
	quiet = max(quiet, from)
	floats.AddConst(-mean(x[from:quiet]), x)
	e, hi := x, min(len(x), at+samples(afterS))
	tiny := nothing * square(max(0, math.Abs(x[peakAt(x, at, hi)])-math.Abs(x[peakAt(x, from, quiet)])))
	if filter := burg(x[from:quiet], whitenOrder, tiny); filter != nil {
		e = whiten(x, filter)
		from += len(filter) - 1
		tiny = min(tiny*energy(filter), nothing*square(e[peakAt(e, at, hi)])) // a filter against a ring takes more out of the strike
	}
	lo := max(from, min(at-samples(beforeS), quiet))
	if hi-lo < 4 {
		return onset{}, false
	}
	hi = min(hi, peakAt(e, max(lo, at-samples(guardS)), hi)+samples(tailS))
	k := akaike(e[lo:hi], tiny)
	if k <= 0 {
		return onset{}, false
	}
	stands := max(stands/float64(hits), standing)
	k = lookAgain(e, lo, lo+k, samples(narrowS), tiny, stands)
	o.first = straighten(x, k, lo, hi, rate)
	// Once more from there, so that a pick one sample off ends at the same place.
	o.first = straighten(x, int(math.Ceil(o.first)), lo, hi, rate)
	first := int(o.first)
	before := e[max(from, first-samples(afterS)):max(from+1, first-samples(leadS))]
	peak := e[peakAt(e, first, min(len(e), first+samples(afterS)))]
	o.hides = math.Sqrt(stands*energy(before)/float64(len(before))) / (math.Abs(peak) + silence)
	o.main = mainRise(x, e, int(o.first), min(len(x), at+samples(strikeS)), rate, o.first, tiny)
	return o, true
}

// mainRise returns where the rise to the peak before sample end begins, by the
// same means as the first onset but with the sound from first on for noise. It
// returns onset where that sound is too loud against the peak to be a leak, or
// the rise follows at once.
func mainRise(x, e []float64, first, end int, rate, onset, tiny float64) float64 {
	samples := func(s float64) int { return int(math.Ceil(s * rate)) }
	lo := max(first+samples(leadS), 0)
	peak := peakAt(x, max(first, 0), end)
	hi := min(len(x), max(peak, peakAt(e, lo, end))+samples(tailS))
	if hi-lo < samples(mainS) {
		return onset
	}
	k := lo + akaike(e[lo:hi], tiny)
	if k-first < samples(mainS) || math.Abs(x[peakAt(x, max(first, 0), k)]) > leakUp*math.Abs(x[peak]) {
		return onset
	}
	return straighten(x, k, lo, hi, rate)
}

// peakAt returns where in lo..hi x is largest in magnitude.
func peakAt(x []float64, lo, hi int) int {
	at := lo
	for i := lo; i < hi; i++ {
		if math.Abs(x[i]) > math.Abs(x[at]) {
			at = i
		}
	}
	return at
}

// akaike returns the index of the first sample of the second of two stretches
// of different variance, by the smallest
//
//	AIC(k) = k·log var(x[:k]) + (n−k)·log var(x[k:])
//
// of Maeda (1985), Zisin 38:365-379 (from memory). Samples are taken to have no mean, and
// variances smaller than tiny to be that. It returns 0 where all samples are the same.
func akaike(x []float64, tiny float64) int {
	const edge = 3 // samples a variance needs
	n, all := len(x), energy(x)
	if all == 0 {
		return 0
	}
	best, at, sum := math.Inf(1), 0, 0.0
	for i, v := range x {
		sum += v * v
		k := i + 1
		if k < edge || k > n-edge {
			continue
		}
		head, tail := float64(k), float64(n-k)
		aic := head*math.Log(sum/head+tiny) + tail*math.Log((all-sum)/tail+tiny)
		if aic < best {
			best, at = aic, k
		}
	}
	return at
}

// lookAgain picks again in what lies up to just beyond the pick, and in what
// lies before it, until nothing earlier stands out from the noise: a loud attack
// outvotes its own quiet beginning, and a sharp sound a dull one before it.
func lookAgain(e []float64, lo, k, beyond int, tiny, stands float64) int {
	for range 5 {
		next := earlier(e[lo:min(len(e), k+beyond)], k-lo, tiny, stands)
		if next == k-lo {
			next = earlier(e[lo:max(lo, k-2)], k-lo, tiny, stands)
		}
		if next == k-lo {
			break
		}
		k = lo + next
		beyond = max(beyond/2, 8)
	}
	return k
}

// earlier returns where a change before k stands out in x, or else k. What begins
// there has to be louder by some times than what was before: noise that swells is no strike.
func earlier(x []float64, k int, tiny, stands float64) int {
	next := akaike(x, tiny)
	if next <= 0 || next >= k || likelihoodRatio(x, next, tiny) < evidence {
		return k
	}
	end := min(k, len(x))
	if energy(x[next:end])/float64(end-next) < stands*(energy(x[:next])/float64(next)+tiny) {
		return k
	}
	return next
}

// likelihoodRatio returns the log-likelihood gained by a change of variance at
// sample k over none.
func likelihoodRatio(x []float64, k int, tiny float64) float64 {
	head, tail := energy(x[:k]), energy(x[k:])
	h, t := float64(k), float64(len(x)-k)
	return 0.5 * ((h+t)*math.Log((head+tail)/(h+t)+tiny) - h*math.Log(head/h+tiny) - t*math.Log(tail/t+tiny))
}

func square(x float64) float64 { return x * x }

func energy(x []float64) float64 { return floats.Dot(x, x) }
