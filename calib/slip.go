package calib

import "math"

// slip is what the hits say happened to the plate since the take before.
type slip int

const (
	asTold slip = iota
	notMoved
	wrongWay
	crossed // it fits with the channels the other way round
	strange // nothing explains it
)

// What it takes to believe the hits rather than the builder about a move: the
// move as told is hardly possible, another explains what was heard and stands
// out of the scatter, and between tempos it is worth more than what laws of real
// machines leave over (common practice, no published source).
const (
	standsOut      = 4    // worth of the move, in standard deviations of the reading
	hardlyPossible = 10   // growth of chi-squared
	explains       = 9    // growth of chi-squared
	sameTempo      = 0.06 // share of the period
	leftOverMS     = 30
)

// slip tells from the earlier points whether the plate stands where it is said
// to stand, where it stood before, or as far on the other side, and moves the
// point there; or that nothing of this explains the reading.
func (s State) slip(p *Point, earlier *understanding) slip {
	before, _, err := earlier.ways()
	if err != nil {
		return asTold
	}
	last := s.Points[len(s.Points)-1]
	moved := p.Setting - last.Setting
	far := math.Abs(p.PeriodMS/last.PeriodMS-1) > sameTempo
	if s.growth(*p, p.Setting, before) < hardlyPossible || far && s.near(*p, before[0]) {
		return asTold
	}
	found, best, at := strange, float64(explains), p.Setting
	for _, other := range []struct {
		kind    slip
		setting int
	}{{notMoved, last.Setting}, {wrongWay, last.Setting - moved}} {
		if g := s.growth(*p, other.setting, before); g < best && moved != 0 {
			found, best, at = other.kind, g, other.setting
		}
	}
	if found == strange && s.near(*p, before[0]) {
		return asTold
	}
	mirrored := *p
	mirrored.LagMS = -p.LagMS
	if found == strange && s.growth(mirrored, p.Setting, before) < explains {
		return crossed
	}
	worth := math.Abs(float64(moved)) * before[0].Law.StepMS(p.PeriodMS)
	if found != strange && (worth < standsOut*p.SDMS || far && worth < leftOverMS) {
		return asTold
	}
	p.Setting = at
	return found
}

// near reports whether a reading lies no further from what the law expects than
// laws of real machines leave over.
func (s State) near(p Point, before Explanation) bool {
	expected, _ := before.Law.Lag(p.PeriodMS, float64(p.Setting))
	miss := expected - p.LagMS
	if p.WrapMS > 0 {
		miss -= p.WrapMS * math.Round(miss/p.WrapMS)
	}
	return math.Abs(miss) < leftOverMS
}

// growth returns by how much chi-squared grows when the point, at the given
// setting, joins the earlier ones: the least by any of their explanations.
func (s State) growth(p Point, setting int, before []Explanation) float64 {
	p.Setting = setting
	least := math.Inf(1)
	for _, e := range before {
		least = math.Min(least, e.growth(p))
	}
	return least
}
