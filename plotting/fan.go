package plotting

import (
	"math"

	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
)

// Fan is the data of the hit fan: every pair of a take laid over every other.
type Fan struct {
	LagsMS      []float64  // one a pair, in the order played
	Used        []bool     // whether the pair counts; a missing entry counts
	CentreMS    float64    // the reading's lag; not finite = none
	CI95MS      [2]float64 // its 95 % interval
	ToleranceMS float64
}

const fanWidth, fanHeight = 210 * mm, 105 * mm

// fanPin is one voice hit: where it struck against its reference hit, and when
// in the take (0 first, 1 last).
type fanPin struct {
	lag, turn float64
	used      bool
}

type fanView struct {
	theme     Theme
	pins      []fanPin
	centre    float64 // NaN = none
	ci        [2]float64
	tolerance float64
	lags      span
	unused    int
	left      int // lags that are no lags
}

// Figure draws the fan: reference hits stand at zero above a shared line, voice
// hits hang below it at their lags, the first pair shortest and the last
// longest, so that jitter shows as width and drift as a slope. Late is right,
// early left. Lags that are not finite are left out and counted. A tolerance
// that is negative or not a number is an error.
func (f Fan) Figure(t Theme) (*Figure, error) {
	if err := checkTolerance(f.ToleranceMS); err != nil {
		return nil, i18n.Errorf("cannot draw the hit fan: %w", err)
	}
	v := f.view(t)
	return &Figure{width: fanWidth, height: fanHeight, background: t.Background, paint: []func(pen){v.paint}}, nil
}

func (f Fan) view(t Theme) *fanView {
	v := &fanView{theme: t, centre: math.NaN(), tolerance: f.ToleranceMS}
	for i, lag := range f.LagsMS {
		if !isLag(lag) {
			v.left++
			continue
		}
		used := i >= len(f.Used) || f.Used[i]
		if !used {
			v.unused++
		}
		v.pins = append(v.pins, fanPin{lag, float64(i) / float64(max(len(f.LagsMS)-1, 1)), used})
	}
	if isLag(f.CentreMS) && len(v.pins) > 0 {
		v.centre = f.CentreMS
		v.ci = usable(CurveTake{LagMS: f.CentreMS, CI95MS: f.CI95MS}).CI95MS
	}
	v.lags = v.axisSpan()
	return v
}

// axisSpan is the axis: what counts, and of the rest what lies near it. A far
// stray would otherwise squeeze the pins that matter.
func (v *fanView) axisSpan() span {
	var lags []float64
	for _, p := range v.pins {
		if p.used {
			lags = append(lags, p.lag)
		}
	}
	lags = append(lags, v.centre, v.ci[0], v.ci[1])
	s := lagSpan(lags, v.tolerance)
	near := s.padded(0.5)
	for _, p := range v.pins {
		if near.contains(p.lag) {
			lags = append(lags, p.lag)
		}
	}
	return lagSpan(lags, v.tolerance)
}

// thinned returns at most so many pins, keeping of each run of neighbours the
// earliest and the latest voice hit, so that the fan keeps its outline.
func thinned(pins []fanPin, most int) []fanPin {
	if len(pins) <= most || most < 2 {
		return pins
	}
	runs := most / 2
	var kept []fanPin
	for i := range runs {
		run := pins[i*len(pins)/runs : (i+1)*len(pins)/runs]
		low, high := run[0], run[0]
		for _, p := range run {
			if p.lag < low.lag {
				low = p
			}
			if p.lag > high.lag {
				high = p
			}
		}
		kept = append(kept, low, high)
	}
	return kept
}

// lagWords says a lag in words: "24.3 ms late", "3.0 ms early".
func lagWords(ms float64) string {
	switch {
	case ms >= 0.05:
		return i18n.F("%.1f ms late", ms)
	case ms <= -0.05:
		return i18n.F("%.1f ms early", -ms)
	}
	return i18n.F("%.1f ms, together", 0.0)
}

// notes says what the fan does not count.
func (v *fanView) notes() string {
	var unused, left string
	if v.unused > 0 {
		unused = i18n.F("× %d not counted", v.unused)
	}
	if v.left > 0 {
		left = i18n.F("%d without a lag", v.left)
	}
	return joined(unused, left)
}

// fanBase is where the shared line runs, from the bottom, as a share of the height.
const fanBase vg.Length = 0.72
