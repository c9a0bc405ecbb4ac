package calib

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// ReasonFar is the reason of a pair whose lag disagrees with the others.
const ReasonFar = "far from the other pairs"

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
	rejectFar(r.Pairs)
	lags := r.usedLags()
	switch {
	case len(lags) == 0:
	case len(lags) == 1:
		r.LagMS = lags[0]
		r.LagCI95MS = [2]float64{lags[0], lags[0]}
	default:
		r.LagMS = stat.Mean(lags, nil)
		half := meanInterval(lags)
		r.LagCI95MS = [2]float64{r.LagMS - half, r.LagMS + half}
		r.JitterMS = stat.StdDev(lags, nil)
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
func (r Reading) Used() int { return len(r.usedLags()) }

func (r Reading) usedLags() []float64 {
	var lags []float64
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

// takeToTakeMS is what two takes of an untouched machine differ by beyond their
// own intervals (common practice, no published source).
const takeToTakeMS = 0.3

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
		SDMS:     math.Hypot(sd, takeToTakeMS),
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

// rejectFar marks the used pairs whose lags are far from the others.
func rejectFar(pairs []Pair) {
	lags := Reading{Pairs: pairs}.usedLags()
	if len(lags) < MinPairs {
		return
	}
	centre := median(lags)
	limit := math.Max(farFloorMS, (farSD+8/float64(len(lags)))*madScale*mad(lags))
	for i := range pairs {
		if pairs[i].Used && math.Abs(pairs[i].LagMS-centre) > limit {
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
