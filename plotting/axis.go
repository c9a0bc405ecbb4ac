package plotting

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
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
type span = sketch.Span

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func isTempo(bpm float64) bool { return bpm > 0 && bpm <= maxTempo }

func isLag(ms float64) bool { return math.Abs(ms) <= maxLag }

// tempoSpan is the tempo axis for the given tempos: all of them, some air, and
// never less than minTempoSpan.
func tempoSpan(tempos []float64) span {
	s := nowhere
	for _, bpm := range tempos {
		if isTempo(bpm) {
			s = s.Include(bpm)
		}
	}
	if s.Lo > s.Hi {
		return span{Lo: 60, Hi: 140}
	}
	s = s.Padded(0.08)
	if lack := minTempoSpan - s.Width(); lack > 0 {
		s = span{Lo: s.Lo - lack/2, Hi: s.Hi + lack/2}
	}
	if s.Lo < slowest {
		s = span{Lo: slowest, Hi: math.Max(s.Hi, slowest+minTempoSpan)}
	}
	return s
}

// lagSpan is the lag axis for the given lags: all of them, zero, some air, and
// at least minLag and the tolerance to either side of zero.
func lagSpan(lags []float64, tolerance float64) span {
	var s span
	for _, ms := range lags {
		if isLag(ms) {
			s = s.Include(ms)
		}
	}
	return s.Padded(0.08).Include(-minLag, minLag, -1.6*tolerance, 1.6*tolerance)
}

// ticker places round ticks no closer together than the labels allow.
type ticker struct {
	length vg.Length                    // of the axis on the canvas
	room   func(label string) vg.Length // that a label takes along the axis, with air
	signs  bool                         // what is above zero has a plus
}

var _ plot.Ticker = ticker{}

// Ticks implements plot.Ticker. A range that makes no sense gets no ticks.
func (t ticker) Ticks(lo, hi float64) (ticks []plot.Tick) {
	wide := func(tick plot.Tick) bool {
		return float64(t.room(tick.Label)) > float64(t.length)*(ticks[1].Value-ticks[0].Value)/(hi-lo)
	}
	for most := 60.0; most >= 1; most *= 0.8 {
		ticks = nil
		for _, tick := range (span{Lo: lo, Hi: hi}).Ticks(int(most)) {
			if !t.signs {
				tick.Label = strings.TrimPrefix(tick.Label, "+")
			}
			ticks = append(ticks, plot.Tick{Value: tick.At, Label: tick.Label})
		}
		if len(ticks) < 2 || !slices.ContainsFunc(ticks, wide) {
			break
		}
	}
	return ticks
}

// nowhere is an axis that holds nothing yet.
var nowhere = span{Lo: math.Inf(1), Hi: math.Inf(-1)}

// headed writes a printed page's title, what the page is of and a note on it, and returns
// the rest of the page.
func (p pen) headed(title, of, note string) pen {
	base := baseSize(p.Size())
	inner := p.crop(base*0.9, base*1.4, base*0.7, base*0.8)
	bold, plain := lettering{size: base * 1.25, bold: true, color: inks.Text}, lettering{size: base, color: inks.Quiet}
	y, width := inner.Max.Y-bold.cap(), inner.Size().X
	title = bold.fit(clean(title), width*0.55)
	inner.text(title, bold, inner.Min.X, y, 0)
	inner.text(plain.fit(clean(of), width*0.4), plain, inner.Min.X+bold.width(title+"  "), y, 0)
	inner.text(note, plain, inner.Min.X, y-1.5*base, 0)
	return inner.crop(0, 0, 0, 3.2*base)
}

// says writes a sentence in the middle of a page that has nothing else to show.
func (p pen) says(sentence string) {
	p.sketch().Sentence(inks.Quiet, inks.Paper, float64(baseSize(p.Size()))*1.1, sentence)
}

// axes returns an empty plot in the theme's colours: ranges guarded, ticks
// fitted to the given size, those of y with their signs if wanted, grid drawn by the caller.
func axes(t Theme, x, y span, size vg.Point, base vg.Length, signs bool) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = x.Lo, x.Hi, y.Lo, y.Hi
	label := lettering{size: base, color: t.Quiet}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.LineStyle.Width = 0
		a.Tick.LineStyle.Color = t.Quiet
		a.Tick.Length = 4
		a.Label.Padding = 3
	}
	p.X.Tick.Label = label.style(text.XCenter, text.YTop)
	p.Y.Tick.Label = label.style(text.XRight, text.YCenter)
	p.X.Label.TextStyle = label.style(text.XCenter, text.YBottom)
	p.Y.Label.TextStyle = label.style(text.XCenter, text.YBottom)
	p.X.Tick.Marker = ticker{size.X, func(s string) vg.Length { return label.width(s) + 2.6*base }, false}
	p.Y.Tick.Marker = ticker{size.Y, func(string) vg.Length { return 3.2 * base }, signs}
	return p
}

// baseSize is the size of small text on a figure of the given size: it grows a
// little with the figure, so that a full-screen one reads from a distance.
func baseSize(size vg.Point) vg.Length {
	s := min(size.X/1.6, size.Y)
	return min(max(11+(s-300)/125, 9.5), 15)
}
