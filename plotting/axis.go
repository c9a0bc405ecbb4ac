package plotting

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
)

const (
	minTempoSpan = 40.0   // BPM
	minLag       = 15.0   // ms to either side of zero that a lag axis always shows
	maxTempo     = 2000.0 // BPM; beyond it nothing is a tempo
	slowest      = 5.0    // BPM at which a tempo axis starts at the earliest
	maxLag       = 1e5    // ms; beyond it nothing is a lag
)

// lagAxis labels a lag axis. Turned to run up a vertical axis its arrows still
// point the right way.
func lagAxis() string { return i18n.L("← early    lag (ms)    late →") }

// span is a finite range of an axis.
type span struct{ lo, hi float64 }

func (s span) width() float64 { return s.hi - s.lo }

func (s span) contains(v float64) bool { return v >= s.lo && v <= s.hi }

func (s span) clamp(v float64) float64 { return math.Min(math.Max(v, s.lo), s.hi) }

// padded widens the span by a share of its width on either side.
func (s span) padded(share float64) span {
	by := s.width() * share
	return span{s.lo - by, s.hi + by}
}

// include widens the span to hold v; what is not finite changes nothing.
func (s span) include(values ...float64) span {
	for _, v := range values {
		if finite(v) {
			s.lo, s.hi = math.Min(s.lo, v), math.Max(s.hi, v)
		}
	}
	return s
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func isTempo(bpm float64) bool { return bpm > 0 && bpm <= maxTempo }

func isLag(ms float64) bool { return math.Abs(ms) <= maxLag }

// tempoSpan is the tempo axis for the given tempos: all of them, some air, and
// never less than minTempoSpan.
func tempoSpan(tempos []float64) span {
	s := span{math.Inf(1), math.Inf(-1)}
	for _, bpm := range tempos {
		if isTempo(bpm) {
			s = s.include(bpm)
		}
	}
	if s.lo > s.hi {
		return span{60, 140}
	}
	s = s.padded(0.08)
	if lack := minTempoSpan - s.width(); lack > 0 {
		s = span{s.lo - lack/2, s.hi + lack/2}
	}
	if s.lo < slowest {
		s = span{slowest, math.Max(s.hi, slowest+minTempoSpan)}
	}
	return s
}

// lagSpan is the lag axis for the given lags: all of them, zero, some air, and
// at least minLag and the tolerance to either side of zero.
func lagSpan(lags []float64, tolerance float64) span {
	var s span
	for _, ms := range lags {
		if isLag(ms) {
			s = s.include(ms)
		}
	}
	return s.padded(0.08).include(-minLag, minLag, -1.6*tolerance, 1.6*tolerance)
}

// ticker places round ticks no closer together than the labels allow.
type ticker struct {
	length vg.Length                    // of the axis on the canvas
	room   func(label string) vg.Length // that a label takes along the axis, with air
}

var _ plot.Ticker = ticker{}

// Ticks implements plot.Ticker. A range that makes no sense gets no ticks.
func (t ticker) Ticks(lo, hi float64) []plot.Tick {
	width := hi - lo
	if !finite(lo) || !finite(hi) || !(width > 1e-9 && width < 1e12) || t.length <= 0 {
		return nil
	}
	step := roundStep(width / 60)
	for range 16 {
		ticks := ticksAt(lo, hi, step)
		if t.fits(ticks, float64(t.length)*step/width) {
			return ticks
		}
		step = roundStep(step * 1.01)
	}
	return nil
}

func (t ticker) fits(ticks []plot.Tick, apart float64) bool {
	for _, tick := range ticks {
		if float64(t.room(tick.Label)) > apart {
			return false
		}
	}
	return true
}

// roundStep is the smallest 1, 2 or 5 times a power of ten that is no less than step.
func roundStep(step float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(step)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= step*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// ticksAt counts in whole steps, so that it ends whatever the numbers.
func ticksAt(lo, hi, step float64) []plot.Tick {
	first, last := math.Ceil(lo/step), math.Floor(hi/step)
	n := int(math.Min(math.Max(last-first+1, 0), 100))
	decimals := max(0, int(-math.Floor(math.Log10(step)+1e-9)))
	ticks := make([]plot.Tick, 0, n)
	for i := range n {
		v := (first + float64(i)) * step
		ticks = append(ticks, plot.Tick{Value: v, Label: decimal(v, decimals)})
	}
	return ticks
}

// checkTolerance refuses a tolerance that cannot be drawn.
func checkTolerance(ms float64) error {
	if ms >= 0 && isLag(ms) {
		return nil
	}
	return i18n.Errorf("the tolerance %v ms is not usable; give the milliseconds of lag that nobody hears, 0 or more", ms)
}

// axes returns an empty plot in the theme's colours: ranges guarded, ticks
// fitted to the given size, grid drawn by the caller.
func axes(t Theme, x, y span, size vg.Point, base vg.Length) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = x.lo, x.hi, y.lo, y.hi
	label := lettering{size: base, color: t.Muted}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.LineStyle.Width = 0
		a.Tick.LineStyle.Color = t.Muted
		a.Tick.Length = 4
		a.Label.Padding = 3
	}
	p.X.Tick.Label = label.style(text.XCenter, text.YTop)
	p.Y.Tick.Label = label.style(text.XRight, text.YCenter)
	p.X.Label.TextStyle = label.style(text.XCenter, text.YBottom)
	p.Y.Label.TextStyle = label.style(text.XCenter, text.YBottom)
	p.X.Tick.Marker = ticker{size.X, func(s string) vg.Length { return label.width(s) + 2.6*base }}
	p.Y.Tick.Marker = ticker{size.Y, func(string) vg.Length { return 3.2 * base }}
	return p
}

// baseSize is the size of small text on a figure of the given size: it grows a
// little with the figure, so that a full-screen one reads from a distance.
func baseSize(size vg.Point) vg.Length {
	s := min(size.X/1.6, size.Y)
	return min(max(11+(s-300)/125, 9.5), 15)
}
