package calib

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib/i18n"
)

// ReasonFar is the reason of a pair whose lag disagrees with the others.
const ReasonFar = "far from the other pairs"

// Reasons why pairs are rejected before their lags are compared.
const (
	ReasonBounce      = "bounce or double drop"
	ReasonNoReference = "no reference hit near"
	ReasonAway        = "away from where the voice strikes"
	ReasonOffBeat     = "not on a beat of the programme"
	ReasonBefore      = "another sound before the strike"
)

// ReasonWords says a reason in the language in use; one that is not known stays.
func ReasonWords(reason string) string {
	switch reason {
	case ReasonFar:
		return i18n.L("far from the other pairs")
	case ReasonBounce:
		return i18n.L("bounce or double drop")
	case ReasonNoReference:
		return i18n.L("no reference hit near")
	case ReasonAway:
		return i18n.L("away from where the voice strikes")
	case ReasonOffBeat:
		return i18n.L("not on a beat of the programme")
	case ReasonBefore:
		return i18n.L("another sound before the strike")
	}
	return reason
}

// MinPairs is how many used pairs a reading needs before it has an interval
// worth acting on.
const MinPairs = 3

// Read makes the reading of a take from its pairs and hits. Pairs that already
// carry a reason stay rejected; further ones are rejected where their lag is
// far from the others. perBeat is the number of reference hits in a beat.
// The pairs given are not changed.
func Read(pairs []Pair, referenceS, voiceS []float64, perBeat int) Reading {
	r := Reading{
		ReferenceHitsS: notNil(referenceS),
		VoiceHitsS:     notNil(voiceS),
		Pairs:          notNil(slices.Clone(pairs)),
		Warnings:       []Warning{},
	}
	if period := hitPeriodMS(referenceS); period > 0 {
		r.ReferencePeriodMS = period
		r.TempoBPM = TempoBPM(period * float64(max(perBeat, 1)))
	}
	uneven, unseen := make([]float64, len(r.Pairs)), 0.0
	if t, ok := newTurning(referenceS, r.ReferencePeriodMS); ok && r.Used() >= MinPairs {
		uneven, unseen = t.unevenness(r.Pairs)
	}
	rejectFar(r.Pairs, uneven)
	lags := r.usedLags()
	switch {
	case len(lags) == 0:
	case len(lags) == 1:
		r.LagMS = lags[0]
		r.LagCI95MS = [2]float64{lags[0], lags[0]}
	default:
		r.LagMS = stat.Mean(lags, nil)
		r.JitterMS = stat.StdDev(lags, nil)
		r.Budget = scatterBudget(r.Pairs, uneven, unseen)
		r = r.withInterval()
	}
	return r
}

// scatterBudget returns what the scatter of the used pairs tells, freed from the
// crank's uneven turning, and what that turning adds to their mean.
func scatterBudget(pairs []Pair, uneven []float64, unseen float64) Budget {
	var even, by []float64
	for i, p := range pairs {
		if p.Used {
			even, by = append(even, p.LagMS-uneven[i]), append(by, uneven[i])
		}
	}
	dof := float64(len(even) - 1)
	return Budget{ScatterMS: meanInterval(even) / student975(dof), CrankMS: math.Hypot(stat.Mean(by, nil), unseen), DOF: dof}.combined()
}

// Without returns the reading with its tempo freed from a gap in the recording,
// which the recorder left before the reference hit at atS when it lost byS
// seconds.
func (r Reading) Without(atS, byS float64) Reading {
	s := slices.Clone(r.ReferenceHitsS)
	for i := range s {
		if s[i] >= atS {
			s[i] += byS
		}
	}
	if period := hitPeriodMS(s); period > 0 && r.ReferencePeriodMS > 0 {
		r.TempoBPM *= r.ReferencePeriodMS / period
		r.ReferencePeriodMS = period
	}
	return r
}

// notNil keeps empty lists as [] in files, not null.
func notNil[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

// Used returns how many pairs count towards the reading.
func (r Reading) Used() (n int) {
	for i := range r.Pairs {
		if r.Pairs[i].Used {
			n++
		}
	}
	return n
}

func (r Reading) usedLags() []float64 {
	lags := make([]float64, 0, len(r.Pairs))
	for _, p := range r.Pairs {
		if p.Used {
			lags = append(lags, p.LagMS)
		}
	}
	return lags
}

// Rejected returns how many pairs were rejected, by reason.
func (r Reading) Rejected() map[string]int {
	counts := map[string]int{}
	for _, p := range r.Pairs {
		if !p.Used {
			counts[p.Reason]++
		}
	}
	return counts
}

// HalfWidthMS returns half the width of the 95 % interval.
func (r Reading) HalfWidthMS() float64 { return (r.LagCI95MS[1] - r.LagCI95MS[0]) / 2 }

// Has reports whether the reading carries a warning with one of the codes.
func (r Reading) Has(codes ...string) bool {
	return slices.ContainsFunc(r.Warnings, func(w Warning) bool { return slices.Contains(codes, w.Code) })
}

// TakeToTakeMS is what two takes of an untouched machine differ by beyond their
// own intervals (common practice, no published source).
const TakeToTakeMS = 0.3

// Point returns the reading as the law sees it, taken with the plate at the
// given setting; ok is false where the reading has too few pairs or no tempo.
func (r Reading) Point(setting int) (p Point, ok bool) {
	if r.Used() < MinPairs || !(r.TempoBPM > 0) {
		return Point{}, false
	}
	sd := r.HalfWidthMS() / 1.96 // Student's wider interval counts as wider still: few hits weigh little
	return Point{
		PeriodMS: PeriodMS(r.TempoBPM),
		Setting:  setting,
		LagMS:    r.LagMS,
		SDMS:     math.Hypot(sd, TakeToTakeMS),
		WrapMS:   r.ReferencePeriodMS,
	}, true
}

// A pair is far where its lag lies further from the median than farSD robust
// standard deviations, and than farFloorMS, which no healthy machine's scatter
// needs but a few nearly equal lags would otherwise undercut.
const (
	farSD      = 4
	farFloorMS = 4
)

// rejectFar marks the used pairs whose lags, freed from the crank's unevenness,
// are far from the others.
func rejectFar(pairs []Pair, uneven []float64) {
	var lags []float64
	for i, p := range pairs {
		if p.Used {
			lags = append(lags, p.LagMS-uneven[i])
		}
	}
	if len(lags) < MinPairs {
		return
	}
	centre := median(lags)
	limit := math.Max(farFloorMS, (farSD+8/float64(len(lags)))*madScale*mad(lags))
	for i := range pairs {
		if pairs[i].Used && math.Abs(pairs[i].LagMS-uneven[i]-centre) > limit {
			pairs[i].Used, pairs[i].Reason = false, ReasonFar
		}
	}
}

// hitPeriodMS returns the mean period in ms of the hits of a regular train that
// may lack some and carry some too many; 0 for fewer than two hits. Each hit is
// numbered by whole median periods from the one before; the period is the time
// from first to last over the periods between, as the crank turned them.
func hitPeriodMS(hitsS []float64) float64 {
	if len(hitsS) < 2 {
		return 0
	}
	gaps := make([]float64, len(hitsS)-1)
	for i := range gaps {
		gaps[i] = hitsS[i+1] - hitsS[i]
	}
	usual := median(gaps)
	if !(usual > 0) {
		return 0
	}
	beats, first, last := 0.0, hitsS[0], hitsS[0]
	for _, t := range hitsS[1:] {
		if n := math.Round((t - last) / usual); n >= 1 {
			beats, last = beats+n, t
		}
	}
	if beats == 0 {
		return 0
	}
	return 1000 * (last - first) / beats
}
