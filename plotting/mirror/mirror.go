// Package mirror draws the mirror trace, in the window and on paper: the reference above a
// lane and the voice below it, hits as pins, and in the lane a bracket between the two pins
// of a pair, as wide as its lag. Times are in seconds from the start of the take.
package mirror

import (
	"image/color"
	"math"
	"sort"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// Sizes of a mirror trace's parts.
const (
	laneHeight = 30 // between the two waveforms
	topGap     = 3  // above the reference's half
	crowded    = 14 // hits closer together than this are drawn without heads
	sparse     = 50 // further apart than this, with stems of full height
	stub       = 9  // the length of a pin's stem where it would hide the waveform
)

// Trace is one. The reading's hits and pairs are in order of time.
type Trace struct {
	sketch.Pen

	Reading calib.Reading
	Far     bool                    // it is seen from far: nothing is written at the pairs
	Why     func(calib.Pair) string // what is written at one that is left out; nil = nothing

	W, Top, LaneTop, LaneBottom, Bottom float64 // where its parts lie; the axis' labels are below

	inks   sketch.Inks
	small  float64 // size of captions
	span   sketch.Span
	sparse bool // hits are far enough apart for stems of full height
	crowd  bool // they are too close together for heads and brackets
}

// axisRow returns how high the axis' labels are, for captions of the given size.
func axisRow(small float64) float64 { return small * 1.7 }

// Middle returns where the halves of a mirror trace of height h meet.
func Middle(h, small float64) float64 { return (topGap + h - axisRow(small)) / 2 }

// New divides the upper h of a surface for a stretch of a take, with captions of the
// given size.
func New(p sketch.Pen, inks sketch.Inks, small, h float64, span sketch.Span, r calib.Reading) *Trace {
	w, _ := p.Size()
	middle, lane := Middle(h, small), min(laneHeight, h/4)
	m := &Trace{
		Pen: p, inks: inks, Reading: r, W: w, Top: topGap, LaneTop: middle - lane/2, LaneBottom: middle + lane/2,
		Bottom: h - axisRow(small), small: small, span: span,
	}
	spacing := w / float64(max(1, len(m.within(r.ReferenceHitsS)), len(m.within(r.VoiceHitsS))))
	m.crowd, m.sparse = spacing < crowded, spacing > sparse
	return m
}

// within returns the hits in sight.
func (m *Trace) within(hits []float64) []float64 {
	return hits[sort.SearchFloat64s(hits, m.span.Lo):sort.SearchFloat64s(hits, m.span.Hi)]
}

// X returns where a moment lies.
func (m *Trace) X(atS float64) float64 { return m.span.X(atS, 0, m.W) }

// Grid draws the time axis and the lane.
func (m *Trace) Grid() {
	apart := 10 * m.small * m.times() // from one label to the next
	faint, y := sketch.Mix(m.inks.Paper, m.inks.Grid, 0.55), m.Bottom+axisRow(m.small)/2+1
	for _, t := range sketch.Moments(m.span, max(1, int(m.W/apart))) {
		x := m.X(t.At)
		m.Upright(faint, x, m.Top, m.Bottom, 1)
		m.Upright(m.inks.Quiet, x, m.Bottom-4, m.Bottom, 1)
		half := m.TextWidth(m.small, false, t.Label) / 2
		if left := x - half; left >= 2 && x+half <= m.W-2 {
			m.Text(m.inks.Quiet, x, y, sketch.Centre, m.small, false, t.Label)
		} else if left < 2 && x > -half/2 {
			m.Text(m.inks.Quiet, 4, y, sketch.Left, m.small, false, t.Label)
		}
	}
	m.Level(m.inks.Grid, 0, m.W, m.Bottom, 1)
	m.Box(m.lane(), 0, m.LaneTop, m.W, m.LaneBottom)
}

// lane is its colour.
func (m *Trace) lane() color.NRGBA { return sketch.Mix(m.inks.Paper, m.inks.Grid, 0.30) }

// Captions names the halves in a corner each, with what follows their names, and returns
// where the upper one ends.
func (m *Trace) Captions(reference, voice string) float64 {
	m.caption(m.inks.Voice, m.Bottom-m.small*0.9, i18n.L("Voice")+voice, m.Diamond)
	return m.caption(m.inks.Reference, m.Top+m.small*0.9, i18n.L("Reference")+reference, m.Disc)
}

// caption writes text behind its mark at the left edge and returns where it ends.
func (m *Trace) caption(c color.Color, y float64, text string, mark func(color.Color, float64, float64, float64)) float64 {
	width := m.TextWidth(m.small, true, text)
	half := m.small * 0.75
	m.Card(m.inks.Paper, 5, y-half, width+30, y+half, 4)
	mark(c, 15, y, sketch.HeadRadius)
	m.Text(c, 25, y, sketch.Left, m.small, true, text)
	return width + 34
}

// Pairs draws pins and brackets.
func (m *Trace) Pairs() {
	m.pins(m.Reading.ReferenceHitsS, m.inks.Reference, m.LaneTop, m.Top)
	m.pins(m.Reading.VoiceHitsS, m.inks.Voice, m.LaneBottom, m.Bottom)
	if m.crowd {
		m.strokes()
		return
	}
	for _, used := range []bool{false, true} { // those that count over the others
		marked := math.Inf(-1)
		for i, pair := range m.Reading.Pairs {
			lo, hi := Ends(pair)
			if pair.Used != used || m.X(hi) < -2*laneHeight || m.X(lo) > m.W+2*laneHeight {
				continue
			}
			m.heads(pair)
			m.bracket(i)
			if x := m.X(pair.VoiceS); m.Why != nil && !m.Far && !used && m.span.Contains(pair.VoiceS) && x-marked > m.small {
				marked = x
				m.Text(m.inks.Text, x, m.LaneBottom+sketch.HeadRadius+m.small, sketch.Centre, m.small, true, m.Why(pair))
			}
		}
	}
}

// pins draws each hit's stem from the lane at foot; full height, or a stub where hits
// are close together.
func (m *Trace) pins(hits []float64, c color.Color, foot, limit float64) {
	tip := limit
	if !m.sparse {
		tip = foot + math.Copysign(stub, limit-foot)
	}
	last := math.Inf(-1)
	for _, at := range m.within(hits) {
		x := m.X(at)
		if x-last < m.Grain() {
			continue
		}
		last = x
		m.Upright(c, x, min(foot, tip), max(foot, tip), 1.5)
	}
}

// strokes marks pairs too close together for brackets by a stroke each: full height when
// used, short when left out.
func (m *Trace) strokes() {
	taken := make([]bool, int(m.W/m.Grain())+1) // grains that have one: the middles of pairs are in no order
	middle := (m.LaneTop + m.LaneBottom) / 2
	for _, pair := range m.Reading.Pairs {
		x := m.X((pair.ReferenceS + pair.VoiceS) / 2)
		if x < 0 || x > m.W || taken[int(x/m.Grain())] {
			continue
		}
		taken[int(x/m.Grain())] = true
		c, half := m.inks.Side(pair.LagMS), (m.LaneBottom-m.LaneTop)/2-4
		if !pair.Used {
			c, half = m.inks.Quiet, 3
		}
		m.Upright(c, x, middle-half, middle+half, 1.5)
	}
}

// heads sets the pins' heads on the lane's edges: a disc for the reference, a diamond for
// the voice; hollow where the pair is left out.
func (m *Trace) heads(pair calib.Pair) {
	rx, vx, times := m.X(pair.ReferenceS), m.X(pair.VoiceS), m.times()
	m.Disc(m.inks.Reference, rx, m.LaneTop, sketch.HeadRadius*times)
	m.Diamond(m.inks.Voice, vx, m.LaneBottom, (sketch.HeadRadius+1)*times)
	if !pair.Used {
		m.Disc(m.inks.Paper, rx, m.LaneTop, (sketch.HeadRadius-1.5)*times)
		m.Diamond(m.inks.Paper, vx, m.LaneBottom, (sketch.HeadRadius-1.2)*times)
	}
}

// times is how large marks are drawn.
func (m *Trace) times() float64 {
	if m.Far {
		return 0.5
	}
	return 1
}

// bracket joins the pins of pair i through the lane: down from the reference, along by
// the lag, down to the voice; where it does not count, dashed and crossed.
func (m *Trace) bracket(i int) {
	pair := m.Reading.Pairs[i]
	rx, vx := m.X(pair.ReferenceS), m.X(pair.VoiceS)
	if pair.Used {
		m.Bracket(m.inks.Side(pair.LagMS), m.inks.Paper, rx, vx, m.LaneTop, m.LaneBottom, m.small*0.72)
		m.lag(i, m.inks.Side(pair.LagMS))
		return
	}
	middle := (m.LaneTop + m.LaneBottom) / 2
	lo, hi := max(-9, min(rx, vx)), min(m.W+9, max(rx, vx))
	m.Dashes(m.inks.Quiet, 1.5, 4, sketch.Pt{X: lo, Y: middle}, sketch.Pt{X: hi, Y: middle})
	m.Dashes(m.inks.Quiet, 1.5, 3, sketch.Pt{X: rx, Y: m.LaneTop + sketch.HeadRadius}, sketch.Pt{X: rx, Y: middle})
	m.Dashes(m.inks.Quiet, 1.5, 3, sketch.Pt{X: vx, Y: middle}, sketch.Pt{X: vx, Y: m.LaneBottom - sketch.HeadRadius})
	m.Cross(m.inks.Quiet, (lo+hi)/2, middle, 5*m.times(), 2*m.times())
	m.lag(i, m.inks.Quiet)
}

// lag writes the lag of pair i in its bracket, or to its right as far as the next pair
// that begins there leaves room: in full, without the words, or not at all.
func (m *Trace) lag(i int, c color.Color) {
	pairs := m.Reading.Pairs
	if m.Far {
		return
	}
	lo, hi := Ends(pairs[i])
	left, right := m.X(lo), m.X(hi)
	beyond := m.W - 3
	for _, p := range pairs {
		next, end := Ends(p)
		if p.Used && !pairs[i].Used && p.ReferenceS == pairs[i].ReferenceS {
			return // what counts of that beat has the room
		}
		if !pairs[i].Used && next <= hi { // over its own end too it would be taken for another's
			next = end
		}
		if next > hi {
			beyond = min(beyond, m.X(next)-6)
		}
	}
	middle, plain := (m.LaneTop+m.LaneBottom)/2, sketch.Signed(pairs[i].LagMS, 0.1)
	for _, s := range []string{calib.LateEarly(pairs[i].LagMS), i18n.F("%s ms", plain), plain} {
		width := m.TextWidth(m.small, true, s)
		if pairs[i].Used && width+10 <= min(right, m.W)-max(left, 0) {
			m.Text(c, (max(left, 0)+min(right, m.W))/2, middle, sketch.Centre, m.small, true, s)
			return
		}
		if right+8 >= 0 && right+8+width <= beyond {
			m.Box(m.lane(), right+6, middle-m.small*0.6, right+10+width, middle+m.small*0.6)
			m.Text(c, right+8, middle, sketch.Left, m.small, true, s)
			return
		}
	}
}

// Ends returns the moments of a pair's two hits in order.
func Ends(p calib.Pair) (lo, hi float64) {
	return min(p.ReferenceS, p.VoiceS), max(p.ReferenceS, p.VoiceS)
}
