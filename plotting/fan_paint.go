package plotting

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
)

func emptyFan() string {
	return i18n.L("No pairs yet: once reference and voice have struck, every pair is laid over the others here.")
}

func (v *fanView) paint(p pen) {
	ax, _, inner := v.layout(p)
	ax.Draw(inner.Canvas)
}

// layout returns the axes with their painter, ready to be drawn.
func (v *fanView) layout(p pen) (*plot.Plot, *fanPainter, pen) {
	size := p.Size()
	painter := &fanPainter{fanView: v, base: baseSize(size), small: size.X < 220 || size.Y < 130}
	pad := painter.base * 0.7
	side := 1.6 * painter.base // half a tick label at either end
	inner := p.crop(side, side, pad, pad)
	ax := axes(v.theme, v.lags, span{0, 1}, inner.Size(), painter.base)
	ax.HideY()
	if !painter.small {
		ax.X.Label.Text = lagAxis()
	}
	ax.Add(painter)
	return ax, painter, inner
}

type fanPainter struct {
	*fanView
	pen
	base  vg.Length
	small bool
	x     func(float64) vg.Length
	mid   vg.Length // height of the shared line
}

var _ plot.Plotter = (*fanPainter)(nil)

// Plot implements plot.Plotter.
func (f *fanPainter) Plot(canvas draw.Canvas, p *plot.Plot) {
	f.pen = pen{canvas}
	if size := f.Size(); size.X < 8 || size.Y < 8 {
		return
	}
	f.x, _ = p.Transforms(&canvas)
	f.mid = f.Min.Y + f.Size().Y*fanBase
	f.ground(p)
	if len(f.pins) == 0 {
		f.invitation()
		return
	}
	if !math.IsNaN(f.centre) {
		f.fillRect(faded(f.theme.Current, 0.25), f.x(f.ci[0]), f.Min.Y, f.x(f.ci[1]), f.mid)
	}
	f.voicePins()
	f.centreMark()
	f.words()
}

func (f *fanPainter) ground(p *plot.Plot) {
	t := f.theme
	for _, tick := range p.X.Tick.Marker.Ticks(f.lags.lo, f.lags.hi) {
		f.line(t.Rule, 0.8, f.x(tick.Value), f.Min.Y, f.x(tick.Value), f.Max.Y)
	}
	f.fillRect(t.Tolerance, f.x(-f.tolerance), f.Min.Y, f.x(f.tolerance), f.Max.Y)
	f.line(t.Muted, 0.8, f.Min.X, f.Min.Y, f.Max.X, f.Min.Y)
	f.line(t.Ink, 1.2, f.Min.X, f.mid, f.Max.X, f.mid)
	zero, top := f.x(0), f.Max.Y-f.base*0.5
	f.line(t.Muted, 1, zero, f.Min.Y, zero, f.mid, 3, 3)
	if len(f.pins) > 0 {
		f.line(t.Ink, 2.4, zero, f.mid, zero, top)
		f.disc(t.Ink, vg.Point{X: zero, Y: top}, f.base*0.36)
	}
}

// voicePins hangs every voice hit from the shared line. Strays beyond the axis
// stop at its edge.
func (f *fanPainter) voicePins() {
	pins := thinned(f.pins, min(int(f.Size().Y*2), 600))
	opacity := min(max(16/float64(len(pins)), 0.16), 0.6)
	head := min(max(f.base*0.30, 1.5), max(f.Size().Y*fanBase/vg.Length(len(pins)), 1.6))
	for _, used := range []bool{false, true} {
		for _, pin := range pins {
			if pin.used == used {
				f.pin(pin, opacity, head)
			}
		}
	}
}

func (f *fanPainter) pin(pin fanPin, opacity float64, head vg.Length) {
	long := f.mid - f.Min.Y - 2*f.base
	at := vg.Point{
		X: f.x(f.lags.clamp(pin.lag)),
		Y: f.mid - f.base*0.9 - vg.Length(pin.turn)*max(long, 0),
	}
	if !pin.used {
		f.line(faded(f.theme.Muted, opacity), 1, at.X, f.mid, at.X, at.Y)
		f.cross(f.theme.Muted, 1.2, at, f.base*0.28)
		return
	}
	f.line(faded(f.theme.Take, opacity), 1.2, at.X, f.mid, at.X, at.Y)
	f.disc(f.theme.Take, at, head)
}

// bracketShare is how high the bracket of the lag is above the shared line, as a
// share of the height there.
const bracketShare = 0.38

// centreMark draws the reading's centre and interval as a bracket above the
// shared line, from the reference to the centre: its width is the lag.
func (f *fanPainter) centreMark() {
	if math.IsNaN(f.centre) {
		return
	}
	t := f.theme
	x, y := f.x(f.centre), f.mid+(f.Max.Y-f.mid)*bracketShare
	f.line(t.Current, 1.8, x, f.Min.Y, x, y)
	f.line(t.Current, 1.8, f.x(0), y, x, y)
	l := lettering{size: f.base * 1.5, bold: true, color: t.Current}
	s := lagWords(f.centre)
	if half := (f.ci[1] - f.ci[0]) / 2; half > 0 && !f.small {
		s += " ±" + decimal(half, 1)
	}
	l = l.shrunk(s, f.Size().X*0.45)
	f.text(s, l, f.beyond(x, l.width(s)), y+(f.Max.Y-y-l.cap())/2, 0)
}

// beyond returns where a text of the given width starts so that it is over the
// centre, off the reference pin and inside the axis.
func (f *fanPainter) beyond(x, width vg.Length) vg.Length {
	zero, air := f.x(0), f.base*0.9
	start := x - width/2
	if f.swapsSides() { // then the reference is named on this side
		air += lettering{size: f.base, bold: true}.width(referenceWord()) + f.base*0.7
	}
	if f.centre >= 0 {
		start = max(start, zero+air)
	} else {
		start = min(start, zero-air-width)
	}
	if start+width > f.Max.X && zero-air-width >= f.Min.X {
		start = min(f.Max.X-width, start)
	}
	return max(min(start, f.Max.X-width), f.Min.X)
}

func referenceWord() string { return i18n.L("reference") }

// last names the last pin.
func (f *fanPainter) last() string { return i18n.F("last of %d", len(f.pins)+f.left) }

// swapsSides reports whether the reference stands so near to the edge that the
// words that go on that side have to go on the other.
func (f *fanPainter) swapsSides() bool {
	if f.small {
		return false
	}
	edge := f.Min.X + 2
	if f.centre < 0 {
		edge = f.Max.X - 2
	}
	room := max(lettering{size: f.base}.width(f.last()), lettering{size: f.base, bold: true}.width(referenceWord())+f.base) + 6
	return math.Abs(float64(f.x(0)-edge)) < float64(room)
}

// words names the reference, the order of the pins and what is not counted.
func (f *fanPainter) words() {
	if f.small {
		return
	}
	l := lettering{size: f.base, color: f.theme.Muted}
	side, start := vg.Length(1), f.x(0)-f.base
	if f.centre < 0 {
		side, start = 0, f.x(0)+f.base
	}
	ink := lettering{size: f.base, bold: true, color: f.theme.Ink}
	edge, align := f.Min.X+2, vg.Length(0)
	if f.centre < 0 {
		edge, align = f.Max.X-2, 1
	}
	if f.swapsSides() {
		side, start = 1-side, 2*f.x(0)-start
		edge = f.x(0) + 6 - 12*align
	}
	f.text(referenceWord(), ink, start, f.Max.Y-f.base*0.5-ink.cap()/2, side)
	f.text(i18n.L("voice"), lettering{size: f.base, bold: true, color: f.theme.Take}, edge, f.mid-f.base*1.2, align)
	f.text(i18n.L("first pair"), l, edge, f.mid-f.base*2.6, align)
	f.text(f.last(), l, edge, f.Min.Y+f.base*0.6, align)
	if s := i18n.F("±%s ms", compact(f.tolerance)); l.width(s)+6 < f.x(f.tolerance)-f.x(0) {
		f.text(s, l, f.x(0)+4, f.Min.Y+f.base*0.6, 0)
	}
	bracket := (f.Max.Y - f.mid) * bracketShare // above the notes
	f.text(f.notes(), l, f.Max.X-2-(f.Size().X-4)*align, f.mid+min(f.base*0.5, (bracket-l.cap())/2), 1-align)
}

func (f *fanPainter) invitation() {
	l := lettering{size: f.base * 1.2, color: f.theme.Ink}
	lines := l.balanced(emptyFan(), f.Size().X*0.8)
	for l.size > 4 && vg.Length(len(lines))*l.size*1.4 > f.Size().Y*fanBase*0.9 {
		l.size *= 0.9
		lines = l.balanced(emptyFan(), f.Size().X*0.8)
	}
	y := f.Min.Y + (f.Size().Y*fanBase+vg.Length(len(lines))*l.size*1.4)/2 - l.size
	for _, line := range lines {
		f.text(line, l, f.Center().X, y, 0.5)
		y -= l.size * 1.4
	}
}
