package calib

import (
	"math"
	"slices"
)

// Explanation is one way to understand a voice's readings: where the plate stood
// at setting 0, which whole beats to add to each of them, and the law that follows.
type Explanation struct {
	Law       Law     // Cov is widened where the readings scatter more than their uncertainties say
	Points    []Point // the readings, whole beats added
	Elsewhere bool    // setting 0 is just where the plate stood, not where the pins belong
	Chance    float64 // of this explanation, all that Explain returns making 1
}

// Explain returns the explanations of a voice's readings, oldest first in points,
// that are not clearly worse than the best; the best comes first. One reading
// cannot tell a voice 0.6 beat late from one 0.4 beat early; readings at two
// tempos can, and so can the prior: what falls is late. Where the plate stood
// anywhere at setting 0, nothing tells the whole beat of the first reading, and it
// is no matter; see BeatOpen for the others. It returns the errors of Fit. It takes
// time in proportion to the points.
func Explain(points []Point, prior Prior) ([]Explanation, error) {
	if len(points) == 0 {
		return nil, ErrNoPoints
	}
	s := newSearch(prior)
	for _, p := range points {
		if err := s.add(p); err != nil {
			return nil, err
		}
	}
	return s.explanations(), nil
}

// at returns the prior for a plate that stood elsewhere, or not.
func (prior Prior) at(elsewhere bool) Prior {
	if elsewhere {
		prior.Offset.SD = math.Hypot(prior.Offset.SD, AnywhereBeats)
	}
	return prior
}

// charge returns what the prior adds to −2 log of the evidence of an explanation,
// less what all of the same readings share; the rest is chi-squared and the
// log-determinant of the information. It charges a wide prior for what it could have
// explained besides, and counts how likely the start is before any reading. The
// place of a plate that stood elsewhere counts within one beat only.
func (prior Prior) charge(elsewhere bool) float64 {
	var charge float64
	for _, b := range prior.at(elsewhere).beliefs() {
		if b.SD > 0 && !math.IsInf(b.SD, 1) {
			charge += 2 * math.Log(b.SD)
		}
	}
	if elsewhere {
		return charge - 2*math.Log(prior.Elsewhere*AnywhereBeats*math.Sqrt(2*math.Pi))
	}
	return charge - 2*math.Log1p(-prior.Elsewhere)
}

// growth returns by how much chi-squared grows when a point joins.
func (e Explanation) growth(p Point) float64 {
	expected, sd := e.Law.Lag(p.PeriodMS, float64(p.Setting))
	miss := p.LagMS - expected
	if p.WrapMS > 0 {
		miss -= p.WrapMS * math.Round(miss/p.WrapMS)
	}
	return miss * miss / (p.SDMS*p.SDMS + sd*sd/e.Law.excess())
}

// beatChance is from which chance on a whole beat is worth a word.
const beatChance = 0.01

// BeatOpen reports whether a whole beat of a reading is still open: whether there
// are explanations, likely enough, that differ in it from a likelier one.
func BeatOpen(ways []Explanation) bool {
	var chance float64
	for i, e := range ways {
		if slices.ContainsFunc(ways[:i], func(likelier Explanation) bool { return !e.sameBeats(likelier) }) {
			chance += e.Chance
		}
	}
	return chance > beatChance
}

// sameBeats reports whether two explanations have the same whole beats. A shift of
// all readings alike is none where the plate stood elsewhere: nothing tells it, and
// nobody hears it.
func (e Explanation) sameBeats(o Explanation) bool {
	first, any := 0.0, e.Elsewhere || o.Elsewhere
	for i, p := range e.Points {
		if !(p.WrapMS > 0) {
			continue
		}
		beats := math.Round((p.LagMS - o.Points[i].LagMS) / p.WrapMS)
		if i == 0 && any {
			first = beats
		}
		if beats != first {
			return false
		}
	}
	return true
}

// excess returns chi-squared over its degrees of freedom, at least 1; one reading
// alone has no scatter.
func (l Law) excess() float64 {
	if l.DOF < 2 {
		return 1
	}
	return math.Max(1, l.ChiSquared/float64(l.DOF))
}

func (l *Law) widen(factor float64) {
	for i := range l.Cov {
		for j := range l.Cov[i] {
			l.Cov[i][j] *= factor
		}
	}
}
