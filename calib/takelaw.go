package calib

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// TakeLaw is what one take by itself tells of the law of a voice, at the setting at
// which the plate stood: its lag at a beat period P in ms is
//
//	lag(P) = DelayMS + OffsetBeats·P        ms, positive = late
//
// OffsetBeats is A − f·s of Law. Both come from the equation that Release states,
// fitted to the strikes of the take: every one stands at a period of its own.
type TakeLaw struct {
	DelayMS     float64       `json:"delay_ms"`     // D
	OffsetBeats float64       `json:"offset_beats"` // A − f·s; positive = released after the beat
	Cov         [2][2]float64 `json:"cov"`          // covariance of the two, in that order
	DOF         float64       `json:"dof"`          // degrees of freedom of Cov; 0 = the tempo hardly changed, and the two are not told apart
	PeriodMS    float64       `json:"period_ms"`    // mean beat period at the strikes
	FromBPM     float64       `json:"from_bpm"`     // the slowest tempo at which strikes stand
	ToBPM       float64       `json:"to_bpm"`       // the fastest
	// WholeBeatsOpen: the take alone does not tell which beat the strikes belong to, so
	// OffsetBeats may be whole reference hits more or less. The delay stays.
	WholeBeatsOpen bool `json:"whole_beats_open"`
}

// Lag returns the lag in ms at a beat period in ms, and its standard uncertainty.
func (l TakeLaw) Lag(periodMS float64) (lagMS, sdMS float64) {
	variance := l.Cov[0][0] + 2*periodMS*l.Cov[0][1] + square(periodMS)*l.Cov[1][1]
	return l.DelayMS + l.OffsetBeats*periodMS, math.Sqrt(math.Max(variance, 0))
}

// Coverage returns how many standard uncertainties a 95 % interval reaches to either
// side: Student's t.
func (l TakeLaw) Coverage() float64 { return Student975(l.DOF) }

// Correlation returns that of delay and offset.
func (l TakeLaw) Correlation() float64 {
	return l.Cov[0][1] / math.Sqrt(l.Cov[0][0]*l.Cov[1][1])
}

// Determined reports whether the tempos of the take span enough to tell delay and offset
// apart, and the delay is one that a fall can have.
func (l TakeLaw) Determined() bool { return l.apart() && !l.Impossible() }

// apart reports whether the tempos span enough.
func (l TakeLaw) apart() bool { return l.DOF >= MinPairs && l.halfDelayMS() < delayToldMS }

// halfDelayMS is half the 95 % interval of the delay.
func (l TakeLaw) halfDelayMS() float64 { return l.Coverage() * math.Sqrt(l.Cov[0][0]) }

// Impossible reports whether the take tells surely of a delay that no fall has: before
// the release, or longer than any machine is high. Then its strikes are not what they seem.
func (l TakeLaw) Impossible() bool {
	return l.apart() && (l.DelayMS+l.halfDelayMS() < 0 || l.DelayMS-l.halfDelayMS() > delayMost)
}

// Growth returns the standard uncertainty of OffsetBeats, which is how the lag grows with
// the period, and its covariance with the lag at PeriodMS; 0 where the take tells neither.
func (l TakeLaw) Growth() (sd, cov float64) {
	if !(l.DOF > 0) {
		return 0, 0
	}
	return l.Coverage() / Half95 * math.Sqrt(l.Cov[1][1]), l.Cov[0][1] + l.PeriodMS*l.Cov[1][1]
}

// Half95 is half a 95 % interval in standard deviations, rounded as is usual.
const Half95 = 1.96

// delayToldMS is half of the 95 % interval of a delay beyond which a take tells
// nothing of it that is not known of any machine.
const delayToldMS = 60

// shared returns the law with a variance in ms² that all strikes share, which is none
// of their scatter: it is the delay's.
func (l TakeLaw) shared(variance float64) TakeLaw {
	if l.DOF > 0 {
		l.Cov[0][0] += variance
	}
	return l
}

// How many beats a voice may be earlier than its beat, wherever its plate was left, and how
// many later than its delay alone makes it, where pins and plate stand as a builder leaves
// them (common practice, no published source).
const earlyBeats, lateBeats = 0.6, 0.15

// onBeat returns the law shifted to the beat that a builder means, hits being so many
// beats apart: the one between its pins' place, where the voice is late by its delay, and
// striking in time that is nearest to the middle of the two. Where it is not the nearest of
// all, or not the only one, the beat is open.
func (l TakeLaw) onBeat(apart float64) TakeLaw {
	lag, hitMS := l.DelayMS+l.OffsetBeats*l.PeriodMS, apart*l.PeriodMS
	nearest := math.Round((l.DelayMS/2 - lag) / hitMS)
	shift, allowed := nearest, 0
	for _, hits := range []float64{nearest - 1, nearest + 1, nearest} {
		if at := lag + hits*hitMS; at > -earlyBeats*l.PeriodMS && at < math.Max(l.DelayMS, 0)+lateBeats*l.PeriodMS {
			shift, allowed = hits, allowed+1
		}
	}
	l.OffsetBeats += shift * apart
	l.WholeBeatsOpen = allowed != 1 || shift != nearest
	return l
}

// fittedTake is what the used pairs of a take tell, crank and release.
type fittedTake struct {
	crank   Crank
	known   bool // whether they tell anything
	release Release
	strikes []strike
	of      []int     // the pair of each strike
	angleSD float64   // standard uncertainty of the release's angle
	angleMS []float64 // how long the crank took to turn by the release's angle, for each strike
}

// fitTake fits the release to the used pairs. Where they, or the reference's hits,
// are too few to tell, the crank counts as even.
func fitTake(k Crank, pairs []Pair) fittedTake {
	t := fittedTake{crank: k}
	t.strikes, t.of = k.usable(pairs)
	t.known = len(t.strikes) >= MinPairs && len(k.hits) >= fewHits
	if !t.known {
		t.strikes, t.of = nil, nil
		for i, p := range pairs {
			if p.Used {
				t.strikes, t.of = append(t.strikes, strike{}), append(t.of, i)
			}
		}
		t.angleMS = make([]float64, len(t.of))
		return t
	}
	t.release, t.angleSD = k.releaseOf(t.strikes)
	for _, s := range t.strikes {
		t.angleMS = append(t.angleMS, k.turnMS(t.release.Angle, s.number))
	}
	return t
}

// fewHits is how many hits of a reference show how the crank turns.
const fewHits = 4

// periodsMS returns the mean period in ms, between reference hits, that the crank had
// at each strike while it turned by the release's angle: what the lag follows.
func (t fittedTake) periodsMS() []float64 {
	periods := make([]float64, len(t.strikes))
	for i, s := range t.strikes {
		if angle := t.release.Angle; math.Abs(angle) > 0.1 {
			periods[i] = t.angleMS[i] / angle
		} else {
			periods[i] = t.crank.PeriodMS(s.number)
		}
	}
	return periods
}

// even returns the lag of each strike as it would have been at an even period in ms.
func (t fittedTake) even(pairs []Pair, periodMS float64) []float64 {
	lags := make([]float64, len(t.strikes))
	for i, of := range t.of {
		lags[i] = pairs[of].LagMS - t.angleMS[i] + t.release.Angle*periodMS
	}
	return lags
}

// crankMS returns the standard uncertainty in ms of the mean lag, at an even period
// in ms, from the crank's turning: what it added by what is seen of it, how sure that
// is, and what is not seen.
func (t fittedTake) crankMS(periodMS float64) float64 {
	if !t.known {
		return 0
	}
	off := stat.Mean(t.periodsMS(), nil) - periodMS
	return math.Hypot(off*math.Hypot(t.release.Angle, t.angleSD), t.unseenMS())
}

// usualWow is the share by which a period changes within a turn of a usual crank, of
// two beats (common practice, no published source).
const usualWow = 0.005

// places is how many places of a crank geared to its reference by quarters of a turn the
// hits tell apart.
const places = 4

// place returns at which of them a hit of a number lies.
func place(number float64) int { return int(math.Mod(math.Mod(number, places)+places, places)) }

// byPlace returns the mean of xs at each place, by the number that each has, and of how
// many.
func byPlace(xs, numbers []float64) (means, n [places]float64) {
	for i, x := range xs {
		at := place(numbers[i])
		n[at]++
		means[at] += (x - means[at]) / n[at]
	}
	return means, n
}

// unseenMS returns the standard uncertainty in ms that strikes which always meet the crank
// at one place have from how it turns between its hits: what a usual crank does, for a
// swing of two hits has no more than one phase in them, and as much as its turning by the
// release's angle is seen to differ from place to place.
func (t fittedTake) unseenMS() float64 {
	var numbers, off []float64
	for n := range t.crank.hits {
		numbers = append(numbers, float64(n))
	}
	slices.Sort(numbers) // the order of a map is luck, and sums depend on it
	angle := t.release.Angle
	for _, at := range numbers {
		off = append(off, t.crank.turnMS(angle, at)-angle*t.crank.PeriodMS(at+angle/2))
	}
	seen, _ := byPlace(off, numbers)
	usual := usualWow / math.Pi * math.Sqrt2 * math.Sin(math.Pi/2*angle) * t.crank.meanPeriodMS()
	return math.Hypot(stat.PopStdDev(seen[:], nil), usual) * t.locked()
}

// locked returns how much the strikes fall on the same places of a crank geared by
// quarters of a turn to the reference: 1 where they all do, and the mean lag is that
// of those places, to 0 where they are spread evenly.
func (t fittedTake) locked() (most float64) {
	for _, turns := range []float64{0.25, 0.5} {
		var sum complex128
		for _, s := range t.strikes {
			sum += cmplx.Rect(1, 2*math.Pi*turns*s.number)
		}
		most = math.Max(most, cmplx.Abs(sum)/float64(len(t.strikes)))
	}
	return most
}

// leastDrift is the change of the period, as a share of it, below which a take counts
// as steady.
const leastDrift = 0.03

// law returns the release in beats, as far as the strikes alone tell, for pairs of so
// many reference hits a beat. How the lag grows is told by the tempo's slow changes
// alone, which are sure: what the crank does within a turn is not (instrumental
// variables).
func (t fittedTake) law(perBeat int) TakeLaw {
	if !t.known {
		return TakeLaw{}
	}
	beat, angle := float64(max(perBeat, 1)), t.release.Angle
	var e normal
	slow, fast := 0.0, math.Inf(1)
	for i, off := range t.crank.left(t.strikes, t.release) {
		p := t.crank.PeriodMS(t.strikes[i].number + angle/2)
		e.add(1, p, off)
		slow, fast = math.Max(slow, p), math.Min(fast, p)
	}
	l := TakeLaw{PeriodMS: stat.Mean(t.periodsMS(), nil) * beat, FromBPM: TempoBPM(slow * beat), ToBPM: TempoBPM(fast * beat)}
	det := e.sum*e.square - e.period*e.period
	if slow <= (1+leastDrift)*fast || !(det > 0) {
		return l
	}
	release := e.solve(0, 0, t.release)
	left, dof := t.scatter(release)
	if !(dof > 0) {
		return l
	}
	l.DelayMS, l.OffsetBeats, l.DOF = release.DelayMS, release.Angle/beat, dof
	variance := math.Max(floats.Dot(left, left)/dof, square(leastScatterMS)) * inflation(left)
	l.Cov[0][0] = variance * e.square / det
	l.Cov[1][1] = (variance*e.sum/det + square(t.unseenMS()*beat/l.PeriodMS)) / square(beat)
	l.Cov[0][1] = -variance * e.period / det / beat
	l.Cov[1][0] = l.Cov[0][1]
	return l.onBeat(1 / beat)
}

// scatter returns by how many ms each strike is off a release, and off what those at the
// same place of the crank are, and the degrees of freedom of that. A crank that swings
// between its hits adds up to nothing over a whole turn, and is no scatter.
func (t fittedTake) scatter(r Release) (offMS []float64, dof float64) {
	offMS, dof = t.crank.left(t.strikes, r), float64(len(t.strikes)-1)
	var numbers []float64
	for _, s := range t.strikes {
		numbers = append(numbers, s.number)
	}
	means, n := byPlace(offMS, numbers)
	for i := range offMS {
		offMS[i] -= means[place(numbers[i])]
	}
	for _, n := range n {
		dof -= math.Min(n, 1)
	}
	return offMS, dof
}

// Trend returns by how many ms the lag grows from the first used pair to the last
// beyond what the tempo explains, and the standard uncertainty of that.
func (r Reading) Trend() (ms, sdMS float64) {
	t := fitTake(NewCrank(r.ReferenceHitsS), r.Pairs)
	if !t.known || len(t.strikes) <= 3 {
		return 0, 0
	}
	var at []float64
	for _, s := range t.strikes {
		at = append(at, s.atMS)
	}
	span := at[len(at)-1] - at[0]
	left := t.crank.left(t.strikes, t.release)
	start, growth := stat.LinearRegression(at, left, nil, false)
	for i := range left {
		left[i] -= start + growth*at[i]
	}
	variance := floats.Dot(left, left) / float64(len(left)-2) * inflation(left)
	return growth * span, span * math.Sqrt(variance/stat.Variance(at, nil)/float64(len(at)-1))
}

// A take's lags are of two kinds where two groups of some size, splitLeastMS apart, explain
// them better by splitEvidence, a log-likelihood ratio, than lags that are evenly spread
// and cut in two: there three quarters of the variance lie between the halves.
const (
	splitLeastMS  = 4.0
	splitEvidence = 4.0
	splitEven     = 0.75
	splitFew      = 0.15 // of the lags, the lesser group at least
)

// SplitMS returns by how much the lags of pairs differ for falling into two groups, as a
// standard deviation in ms; 0 where they do not. The groups are those between which the
// most of the variance lies (Otsu 1979, IEEE Trans. SMC 9:62-66, from memory).
func SplitMS(pairs []Pair, referenceS []float64) float64 {
	lags := fitTake(NewCrank(referenceS), pairs).even(pairs, 0)
	slices.Sort(lags)
	var sum, head, most float64
	for _, lag := range lags {
		sum += lag
	}
	n := float64(len(lags))
	for i, lag := range lags {
		head += lag
		k := float64(i + 1)
		if rest := n - k; min(k, rest) >= max(2, splitFew*n) {
			if apart := (sum-head)/rest - head/k; apart > splitLeastMS {
				most = max(most, square(apart)*k*rest/(n*n))
			}
		}
	}
	if left := 1 - most/stat.PopVariance(lags, nil); most == 0 || left > (1-splitEven)*math.Exp(-2*splitEvidence/n) {
		return 0
	}
	return math.Sqrt(most)
}
