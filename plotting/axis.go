package plotting

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

const (
	minTempoSpan = 40.0   // BPM
	minLag       = 15.0   // ms to either side of zero that a lag axis always shows
	maxTempo     = 2000.0 // BPM; beyond it nothing is a tempo
	slowest      = 5.0    // BPM at which a tempo axis starts at the earliest
)

// lagAxis labels a lag axis. Turned to run up a vertical axis its arrows still
// point the right way.
func lagAxis() string { return i18n.L("← early    lag (ms)    late →") }

// span is a finite range of an axis.
type span = sketch.Span

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func isTempo(bpm float64) bool { return bpm > 0 && bpm <= maxTempo }

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
		if sketch.IsLag(ms) {
			s = s.Include(ms)
		}
	}
	return s.Padded(0.08).Include(-minLag, minLag, -1.6*tolerance, 1.6*tolerance)
}

// ticks are round values of a span with their labels, as many as have room on a length; room is
// what a label takes of it, with air. With signs those above zero have a plus. A span that makes
// no sense has none.
func ticks(s span, length float64, signs bool, room func(label string) float64) (all []sketch.Tick) {
	tight := func(tick sketch.Tick) bool { return room(tick.Label) > length*(all[1].At-all[0].At)/s.Width() }
	for most := 60.0; most >= 1; most *= 0.8 {
		all = s.Ticks(int(most))
		for i := range all {
			if !signs {
				all[i].Label = strings.TrimPrefix(all[i].Label, "+")
			}
		}
		if len(all) < 2 || !slices.ContainsFunc(all, tight) {
			break
		}
	}
	return all
}

// nowhere is an axis that holds nothing yet.
var nowhere = span{Lo: math.Inf(1), Hi: math.Inf(-1)}

// headed writes a printed page's title, what the page is of and a note on it, and returns
// the rest of the page.
func (p pen) headed(title, of, note string) pen {
	base := p.base()
	inner := p.crop(base*0.9, base*1.4, base*0.7, base*0.8)
	bold, plain := lettering{size: base * 1.25, bold: true, color: inks.Text}, lettering{size: base, color: inks.Quiet}
	title = bold.fit(clean(title), inner.w*0.55)
	inner.text(title, bold, 0, bold.cap(), 0)
	inner.text(plain.fit(clean(of), inner.w*0.4), plain, bold.width(title+"  "), bold.cap(), 0)
	inner.text(note, plain, 0, bold.cap()+1.5*base, 0)
	return inner.crop(0, 0, 0, 3.2*base)
}

// says writes a sentence in the middle of a page that has nothing else to show.
func (p pen) says(sentence string) {
	p.Sentence(inks.Quiet, inks.Paper, p.base()*1.1, sentence)
}

// axis is one of a frame: what it is of, from where to where it goes, and what is marked on it.
type axis struct {
	of string
	span
	marks []sketch.Tick
}

// across is an axis from left to right, with round values.
func (p pen) across(of string, s span, base float64) axis {
	return axis{of, s, ticks(s, p.w, false, func(label string) float64 { return lettering{size: base}.width(label) + 2.6*base })}
}

// upward is an axis from below, with round values, which have signs if wanted.
func (p pen) upward(of string, s span, base float64, signs bool) axis {
	return axis{of, s, ticks(s, p.h, signs, func(string) float64 { return 3.2 * base })}
}

// frame is the room between two axes.
type frame struct {
	pen
	wide, high axis
}

func (f frame) x(v float64) float64 { return f.wide.X(v, 0, f.w) }
func (f frame) y(v float64) float64 { return f.high.X(v, f.h, 0) }

// framed draws axes at the left and the foot of a rectangle in small text, and returns what they
// leave of it.
func (p pen) framed(t Theme, base float64, wide, high axis) frame {
	const tick, air = 4, 3
	l := lettering{size: base, color: t.Quiet}
	left, below := 0.0, tick+2*air+l.cap()
	for _, m := range high.marks {
		left = max(left, l.width(m.Label)+tick+air)
	}
	if high.of != "" {
		left += 1.6 * base
	}
	if wide.of != "" {
		below += 1.4 * base
	}
	f := frame{p.crop(left, 0, below, base/2), wide, high}
	for _, m := range wide.marks {
		f.line(t.Quiet, 0.5, f.x(m.At), f.h, f.x(m.At), f.h+tick)
		f.text(m.Label, l, f.x(m.At), f.h+tick+air+l.cap(), 0.5)
	}
	for _, m := range high.marks {
		f.line(t.Quiet, 0.5, -tick, f.y(m.At), 0, f.y(m.At))
		f.text(m.Label, l, -tick-air, f.y(m.At)+l.cap()/2, 1)
	}
	f.text(wide.of, l, f.w/2, f.h+below-air, 0.5)
	if high.of != "" {
		p.on.Push()
		p.on.Translate(f.points([]sketch.Pt{{X: base - left, Y: f.h / 2}})[0])
		p.on.Rotate(math.Pi / 2)
		p.on.SetColor(l.color)
		p.on.FillString(l.face(), vg.Point{X: -vg.Length(l.width(high.of) / 2)}, high.of)
		p.on.Pop()
	}
	return f
}

// base is the size of small text on a rectangle: it grows a little with it, so that a
// full-screen figure reads from a distance.
func (s surface) base() float64 { return min(max(11+(min(s.w/1.6, s.h)-300)/125, 9.5), 15) }
