package plan

import (
	"cmp"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Failures of Fit.
var (
	// ErrNothingKnown: the machine has no voice, or a belief that is not a number.
	ErrNothingKnown = i18n.Fixed(i18n.Say("a plan needs a machine with one voice or more, and a step larger than zero to start from: say how many notches the plate has"))
	// ErrBadTake: a take holds a number that cannot be, or a voice there is not.
	ErrBadTake = i18n.Fixed(i18n.Say("a take has a voice that the machine does not have, or no finite lag, period or uncertainty: leave that take out"))
)

// Take is one recording as the joint law sees it.
type Take struct {
	ID      int
	Setting int           // where the plate is said to stand, steps; positive = ahead
	Came    int           // which way the plate was last turned: +1 ahead, −1 back, 0 = not known
	Advised int           // move that was advised since the take before it, steps; 0 = none
	AsTold  bool          // whoever turned the plate has said that it went as told since the take before it
	Heard   []Observation // one for each voice that had a microphone

	Days    float64  // since the take before it, where the machine stood at least a night; 0 = the same day
	Changed []Change // what was worked on since the take before it
}

// Change is work on a voice of which the builder told: from then on what was known of
// its delay, or of its offset, counts for little.
type Change struct {
	Voice int
	Pins  bool // its offset changed; else its delay
}

// Observation is what a take says of one voice: all its hits in two numbers, the lag at their
// mean period and how it grows with the period. A sweep tells the growth well, a take whose
// crank drifts a little, a steady one not.
type Observation struct {
	Voice     int     // number of the voice, from 0
	PeriodMS  float64 // mean beat period at the used hits
	LagMS     float64 // the lag at PeriodMS; positive = late
	WrapMS    float64 // the lag is known up to whole multiples of this; 0 = it is known
	ScatterMS float64 // standard uncertainty of LagMS by the scatter of its own hits
	Hits      int     // how many hits that scatter comes from; 0 = ScatterMS is known as it is
	OtherMS   float64 // standard uncertainty of LagMS from all else that is this take's own
	SharedMS  float64 // that which every take of the voice has alike: more of them do not lessen it
	Slope     float64 // growth of the lag with the period, in beats: A − f·s
	SlopeSD   float64 // its standard uncertainty; 0 = the take shows none
	SlopeCov  float64 // covariance of Slope and LagMS
}

// Hear sums up a reading of a voice. It is not ok where the reading has too few
// pairs, no tempo, or a delay that no fall has.
func Hear(voice int, r *calib.Reading) (h Observation, ok bool) {
	point, ok := r.Point(r.TempoBPM)
	if !ok || r.Law.Impossible() {
		return Observation{}, false
	}
	b := r.Budget
	shared := square(b.BeginsMS) + square(b.SkewMS)
	h = Observation{Voice: voice, PeriodMS: point.PeriodMS, LagMS: r.LagMS, ScatterMS: b.ScatterMS, Hits: r.Used(), SharedMS: math.Sqrt(shared)}
	all := square(b.CombinedMS()) - square(b.CrankMS) // at the strikes' own period, and in every take alike
	if l := &r.Law; l.DOF > 0 {
		var sd float64
		h.LagMS, sd = l.Lag(l.PeriodMS)
		all = square(sd)
		h.Slope = l.OffsetBeats
		h.SlopeSD, h.SlopeCov = l.Growth()
	}
	if r.Law.PeriodMS > 0 {
		h.PeriodMS = r.Law.PeriodMS
	}
	h.WrapMS = r.ReferencePeriodMS / calib.PeriodMS(r.TempoBPM) * h.PeriodMS
	h.OtherMS = math.Hypot(math.Sqrt(math.Max(all-square(h.ScatterMS)-shared, 0)), calib.TakeToTakeMS)
	return h, true
}

// usable reports whether the numbers can be fitted. Ones so large that squares of them leave no
// digits for the others are no reading of anything.
func (h Observation) usable(voices int) bool {
	for _, x := range [...]float64{h.PeriodMS, h.LagMS, h.WrapMS, h.ScatterMS, h.OtherMS, h.SharedMS, h.Slope, h.SlopeSD, h.SlopeCov} {
		if !(math.Abs(x) < mostUsable) {
			return false
		}
	}
	return h.Voice >= 0 && h.Voice < voices && h.PeriodMS > 0 && h.ScatterMS >= 0 && h.ScatterMS+h.OtherMS > 0 &&
		h.SharedMS >= 0 && (h.SlopeSD == 0 || h.SlopeSD > exact)
}

// mostUsable is the largest number of a reading, in ms or beats: a quarter of an hour.
const mostUsable = 1e6

// A voice scatters much the same from take to take, so a take of few hits borrows
// from the others. Before any take it is as if a few hits of a usual machine had
// been heard (common practice, no published source).
const (
	usualHitMS   = 1.6
	usualHits    = 3.0
	borrowedHits = 60.0 // at most, so that a take of many hits speaks for itself
)

// pooled is the variance of a voice's hits, the degrees of freedom behind it, and the
// variance in ms² that all its takes share.
type pooled struct{ variance, dof, shared float64 }

// pool gathers the scatter from hit to hit of each voice over all takes. One whose
// hits fell apart says little of the others: it counts as the wildest that still may.
// What takes share is as much as the surest of them has; the rest is each take's own.
func pool(takes []Take, voices int) []pooled {
	heard, all := make([][]pooled, voices), make([]pooled, voices)
	for v := range heard {
		heard[v], all[v].shared = append(make([]pooled, 0, 1+len(takes)), pooled{variance: usualHitMS * usualHitMS, dof: usualHits}), math.Inf(1)
	}
	for _, t := range takes {
		for _, h := range t.Heard {
			all[h.Voice].shared = math.Min(all[h.Voice].shared, square(h.SharedMS))
			if n := float64(h.Hits); n > 1 {
				heard[h.Voice] = append(heard[h.Voice], pooled{variance: n * h.ScatterMS * h.ScatterMS, dof: n - 1})
			}
		}
	}
	for v, some := range heard {
		slices.SortFunc(some, func(a, b pooled) int { return cmp.Compare(a.variance, b.variance) })
		most := wildest * some[len(some)/2].variance
		for _, p := range some {
			all[v].variance += p.dof * math.Min(p.variance, most)
			all[v].dof += p.dof
		}
		all[v].variance /= all[v].dof
		if math.IsInf(all[v].shared, 1) {
			all[v].shared = 0 // no take has heard it
		}
	}
	return all
}

// wildest is how many times the variance of the take in the middle a take may have
// and still tell of the others.
const wildest = 16

// sd returns the standard uncertainty of the lag without what takes share, borrowing from
// the pool. It is a little wider than the scatter says, by the variance of Student's t,
// since the scatter is itself but estimated.
func (h Observation) sd(p pooled) float64 {
	other := math.Hypot(h.OtherMS, math.Sqrt(math.Max(square(h.SharedMS)-p.shared, 0)))
	if h.Hits < 2 {
		return math.Hypot(h.ScatterMS, other)
	}
	n := float64(h.Hits)
	borrowed := math.Min(p.dof, borrowedHits)
	variance := (borrowed*p.variance + (n-1)*n*h.ScatterMS*h.ScatterMS) / (borrowed + n - 1)
	dof := math.Max(p.dof, 3)
	return math.Hypot(math.Sqrt(variance/n*dof/(dof-2)), other)
}
