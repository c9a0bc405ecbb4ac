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
	for _, one := range reasons {
		if one.English() == reason {
			return one.String()
		}
	}
	return reason
}

var reasons = [...]i18n.Message{i18n.Say(ReasonFar), i18n.Say(ReasonBounce), i18n.Say(ReasonNoReference), i18n.Say(ReasonAway), i18n.Say(ReasonOffBeat), i18n.Say(ReasonBefore)}

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
	crank := NewCrank(referenceS)
	r = r.at(crank.meanPeriodMS(), perBeat)
	t := fitTake(crank, r.Pairs)
	t.rejectFar(r.Pairs, r.ReferencePeriodMS)
	t = fitTake(crank, r.Pairs)
	lags := r.usedLags()
	switch {
	case len(lags) == 0:
	case len(lags) == 1:
		r.LagMS = lags[0]
		r.LagCI95MS = [2]float64{lags[0], lags[0]}
	default:
		r.LagMS = stat.Mean(lags, nil)
		if r.Law = t.law(perBeat); r.Law.Determined() {
			r = r.at(r.Law.PeriodMS/float64(max(perBeat, 1)), perBeat)
		}
		even := t.even(r.Pairs, r.ReferencePeriodMS)
		r.JitterMS = stat.StdDev(even, nil)
		r.Budget = Budget{ScatterMS: meanSD(even), CrankMS: t.crankMS(r.ReferencePeriodMS), ScatterDOF: float64(len(lags) - 1)}
		r = r.withInterval()
	}
	return r
}

// at returns the reading with the tempo of a period in ms between reference hits.
func (r Reading) at(periodMS float64, perBeat int) Reading {
	if periodMS > 0 {
		r.ReferencePeriodMS = periodMS
		r.TempoBPM = TempoBPM(periodMS * float64(max(perBeat, 1)))
	}
	return r
}

// WithoutGap returns the reading with its tempo freed from a gap in the recording,
// which the recorder left before the reference hit at atS when it lost byS
// seconds.
func (r Reading) WithoutGap(atS, byS float64) Reading {
	s := slices.Clone(r.ReferenceHitsS)
	for i := range s {
		if s[i] >= atS {
			s[i] += byS
		}
	}
	if period := NewCrank(s).meanPeriodMS(); period > 0 && r.ReferencePeriodMS > 0 {
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

// Point returns the reading at the tempo nearest to one in BPM of those that the take
// was played at; a steady take has one. ok is false where the reading has too few pairs or
// no tempo.
func (r *Reading) Point(tempoBPM float64) (p Point, ok bool) {
	if r.Used() < MinPairs || !(r.TempoBPM > 0) {
		return Point{}, false
	}
	p = Point{PeriodMS: PeriodMS(r.TempoBPM), LagMS: r.LagMS, HalfMS: r.HalfWidthMS(), WrapMS: r.ReferencePeriodMS}
	if r.Law.Determined() {
		l := r.onPairs()
		hit := p.WrapMS / p.PeriodMS
		p.PeriodMS = PeriodMS(math.Max(l.FromBPM, math.Min(tempoBPM, l.ToBPM)))
		lag, sd := l.Lag(p.PeriodMS)
		p.LagMS, p.HalfMS, p.WrapMS = lag, l.Coverage()*sd, hit*p.PeriodMS
	}
	p.SDMS = math.Hypot(p.HalfMS/Half95, TakeToTakeMS) // Student's wider interval counts as wider still: few hits weigh little
	return p, true
}

// onPairs returns the law on the beat at which the pairs stand, as LagMS is.
func (r *Reading) onPairs() TakeLaw {
	l := r.Law
	if lag, _ := l.Lag(l.PeriodMS); l.DOF > 0 {
		l.OffsetBeats += math.Round((r.LagMS-lag)/r.ReferencePeriodMS) * r.ReferencePeriodMS / PeriodMS(r.TempoBPM)
	}
	return l
}

// A pair is far where its lag lies further from the median than farSD robust
// standard deviations, and than farFloorMS, which no healthy machine's scatter
// needs but a few nearly equal lags would otherwise undercut.
const (
	farSD      = 4
	farFloorMS = 4
)

// rejectFar marks the used pairs whose lags, as they would have been at an even
// period, are far from the others.
func (t fittedTake) rejectFar(pairs []Pair, periodMS float64) {
	lags := t.even(pairs, periodMS)
	if len(lags) < MinPairs {
		return
	}
	centre := median(lags)
	limit := math.Max(farFloorMS, (farSD+8/float64(len(lags)))*madScale*mad(lags))
	for i, of := range t.of {
		if math.Abs(lags[i]-centre) > limit {
			pairs[of].Used, pairs[of].Reason = false, ReasonFar
		}
	}
}
