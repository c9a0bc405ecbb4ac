package plotting

import (
	"image/color"
	"math"
	"slices"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

func (v *curveView) paint(p pen) {
	if c := v.layout(p); c.drawable() {
		c.paint()
	}
}

// layout draws what stands around the axes, and returns the painter of what lies between them.
func (v *curveView) layout(p pen) *curvePainter {
	base := p.base()
	small := p.w < 260 || p.h < 170
	pad := base * 0.9
	inner := p.crop(pad, pad, pad*0.7, pad*0.8)
	if !small {
		inner = inner.crop(0, 0, 0, v.header(inner, base))
		inner = inner.crop(0, 0, v.footer(inner, base), 0)
	}
	c := &curvePainter{curveView: v, base: base, margin: v.lawMargin(base, p.w*0.3)}
	inner = inner.crop(0, c.margin, 0, 0)
	height := max(inner.h-4*base, base) // less ticks and the axis' words
	c.lane, c.strip = v.songRoom(height, base)
	lag, unit := v.lag, v.lag.Width()/max(height-c.strip-v.rows.Width()*base, base)
	lag.Lo += unit * (v.rows.Lo*base - c.strip)
	lag.Hi += unit * v.rows.Hi * base
	tempos, lags := "", ""
	if !small {
		tempos, lags = i18n.L("tempo (BPM)"), lagAxis()
		if (lettering{size: base}).width(lags) > inner.h-4*base {
			lags = i18n.L("lag (ms)")
		}
	}
	high := inner.upward(lags, lag, base, false)
	high.marks = slices.DeleteFunc(high.marks, func(t sketch.Tick) bool { return !v.lag.Contains(t.At) })
	c.on(inner.framed(v.theme, base, inner.across(tempos, v.tempos, base), high))
	return c
}

// header writes title, voice and key, and returns the height it took.
func (v *curveView) header(p pen, base float64) float64 {
	title := lettering{size: base * 1.25, bold: true, color: v.theme.Text}
	plain := lettering{size: base * 1.25, color: v.theme.Quiet}
	x := 0.0
	name := title.fit(v.title, p.w*0.62)
	p.text(name, title, x, title.cap(), 0)
	if name != "" {
		x += title.width(name + "  ")
	}
	voice := plain.fit(v.voice, p.w*0.7-x)
	p.text(voice, plain, x, title.cap(), 0)
	x += plain.width(voice)
	height := 0.0
	if name != "" || voice != "" {
		height = title.cap() + base*0.9
	}
	return height + v.key(p, base, x, height)
}

// footer says how many takes were left out, and returns the height it took.
func (v *curveView) footer(p pen, base float64) float64 {
	if v.older == 0 {
		return 0
	}
	l := lettering{size: base, color: v.theme.Quiet}
	p.text(l.fit(i18n.F("older takes, not drawn: %d", v.older), p.w), l, 0, p.h-base*0.25, 0)
	return base * 1.5
}

// lawMargin is the room right of the curve for the laws' labels.
func (v *curveView) lawMargin(base, most float64) float64 {
	margin := base / 2
	for _, law := range v.laws {
		l := v.lawLettering(law, base)
		margin = max(margin, min(l.width(l.fit(law.label, most))+base, most))
	}
	return margin
}

func (v *curveView) lawLettering(law sampledLaw, base float64) lettering {
	if law.current {
		return lettering{size: base * 1.1, bold: true, color: law.look.line}
	}
	if law.picked {
		return lettering{size: base, color: v.theme.Text}
	}
	return lettering{size: base, color: v.theme.Quiet}
}

// curvePainter draws the data between the axes.
type curvePainter struct {
	*curveView
	frame
	base, margin float64
	lane, strip  float64 // height of a song's lane, and of all
	labels       sketch.Placer
}

// on puts the painter between axes.
func (c *curvePainter) on(f frame) { c.frame, c.labels = f, f.room() }

// drawable reports whether there is room for anything.
func (c *curvePainter) drawable() bool { return c.w >= 8 && c.h >= 8 }

func (c *curvePainter) paint() {
	c.ground()
	for _, law := range c.laws {
		c.law(law)
	}
	for _, hit := range c.hits {
		at := c.at(hit)
		c.Disc(sketch.Faded(c.theme.Lag(hit.LagMS, c.tolerance), 0.5), at.X, at.Y, c.base*0.2)
	}
	c.songStrip()
	for _, s := range c.strokes {
		c.songStroke(s)
	}
	c.reserve()
	c.pickedName()
	c.zeroWords()
	for _, take := range c.takes {
		c.take(take)
	}
	c.takeLabels()
	c.lawLabels()
	if c.empty {
		c.crop(0, 0, c.h-c.zero(), 0).Sentence(c.theme.Text, sketch.Faded(c.theme.Paper, 0), c.base*1.2,
			i18n.L("No takes yet: play the machine at one tempo, record, and the first point appears here."))
	}
}

// zero is where voices strike together, or the edge of the axes on its side.
func (c *curvePainter) zero() float64 { return c.y(c.lag.Clamp(0)) }

// ground draws tolerance, grid, target and the zero line.
func (c *curvePainter) ground() {
	t := c.theme
	for _, tick := range c.wide.marks {
		c.line(t.Grid, 0.8, c.x(tick.At), 0, c.x(tick.At), c.h)
	}
	c.Box(t.Zone(), 0, c.y(c.lag.Clamp(c.tolerance)), c.w, c.y(c.lag.Clamp(-c.tolerance)))
	for _, tick := range c.high.marks {
		c.line(t.Grid, 0.8, 0, c.y(tick.At), c.w, c.y(tick.At))
	}
	if c.tempos.Contains(c.target) {
		top := 0.0
		if c.empty {
			top = c.zero() // the invitation stands above
		}
		c.line(t.Quiet, 1, c.x(c.target), c.h-c.strip, c.x(c.target), top, 4, 3)
	}
	if c.lag.Contains(0) {
		c.line(t.Text, 1.4, 0, c.zero(), c.w, c.zero())
	}
	c.line(t.Quiet, 0.8, 0, c.h, 0, 0)
	c.line(t.Quiet, 0.8, 0, c.h, c.w, c.h)
}

// law draws one law's band and line.
func (c *curvePainter) law(law sampledLaw) {
	ink, width, opacity := c.theme.Quiet, 1.0, 0.10
	if len(c.voices) > 0 {
		ink, opacity = sketch.Faded(law.look.line, 0.5), 0.05
	}
	switch {
	case law.current:
		ink, width, opacity = law.look.line, 2.2, 0.20
	case law.picked:
		ink, width, opacity = law.look.line, 1.4, 0.14
	}
	line, band := c.lawPoints(law)
	data := c.crop(0, 0, c.strip, 0) // above the songs
	data.Shape(sketch.Faded(ink, opacity), band)
	data.stroke(ink, width, law.look.dashes, line)
}

// lawPoints places the law on the frame: its line, and the outline of its band.
// Lags far off the axis are pulled in, so that the clipping works on sane numbers.
func (c *curvePainter) lawPoints(law sampledLaw) (line, band []sketch.Pt) {
	near := c.lag.Padded(20)
	at := func(bpm, lag float64) sketch.Pt { return sketch.Pt{X: c.x(bpm), Y: c.y(near.Clamp(lag))} }
	n := len(law.points)
	line, band = make([]sketch.Pt, n), make([]sketch.Pt, 2*n)
	for i, p := range law.points {
		line[i] = at(p.bpm, p.lag)
		band[i] = at(p.bpm, p.high)
		band[2*n-1-i] = at(p.bpm, p.low)
	}
	return line, band
}

// at is where a take stands: one that is far, in the row at its side, or where there is
// none within the axes.
func (c *curvePainter) at(take drawnTake) sketch.Pt {
	at := sketch.Pt{X: c.x(take.TempoBPM), Y: c.y(c.lag.Clamp(take.LagMS))}
	if take.far {
		at.Y += math.Copysign(c.base*0.9, take.LagMS) - c.rows.Clamp(math.Copysign(farRow, take.LagMS))*c.base
	}
	return at
}

// reserve keeps labels off the takes and the current law.
func (c *curvePainter) reserve() {
	for _, take := range c.takes {
		at := c.at(take)
		c.labels.Mark(sketch.About(at, c.markSize(take)+1))
		if take.far {
			continue
		}
		low, high := c.interval(take)
		c.labels.Mark(sketch.Rect{Min: sketch.Pt{X: at.X - c.base*0.2, Y: high}, Max: sketch.Pt{X: at.X + c.base*0.2, Y: low}})
	}
	for _, law := range c.laws {
		line, _ := c.lawPoints(law)
		c.labels.Line(line...)
	}
	for _, s := range c.strokes {
		line, _ := c.lawPoints(s.sampledLaw)
		c.labels.Line(line...)
		if s.picked {
			c.labels.Mark(sketch.About(c.strokeAt(s), c.base*0.5))
		}
	}
}

// interval is where a take's interval ends, within the axes.
func (c *curvePainter) interval(take drawnTake) (low, high float64) {
	return c.y(c.lag.Clamp(take.CI95MS[0])), c.y(c.lag.Clamp(take.CI95MS[1]))
}

func (c *curvePainter) markSize(take drawnTake) float64 {
	switch {
	case take.far:
		return c.base * 0.9
	case take.Current:
		return c.base * 0.85
	}
	return c.base * 0.42
}

// take draws the voice's mark, filled within tolerance, or a cross where it does not count:
// over its interval, or where it is far, under an arrow that points there.
func (c *curvePainter) take(take drawnTake) {
	at, color := c.at(take), c.theme.Side(take.LagMS)
	switch {
	case take.Disputed:
		color = c.theme.Quiet
	case take.Converged:
		color = c.theme.Tight
	}
	if take.Current {
		c.Ring(c.theme.Text, at.X, at.Y, c.base*0.8, 1.2)
	}
	if take.far {
		way := math.Copysign(c.base, take.LagMS)
		tip := at.Y - way*0.85
		c.Shape(color, []sketch.Pt{{X: at.X, Y: tip}, {X: at.X - c.base*0.4, Y: tip + way*0.4}, {X: at.X + c.base*0.4, Y: tip + way*0.4}})
	} else {
		low, high := c.interval(take)
		c.intervalBar(color, at.X, low, high, c.base)
	}
	if take.Disputed {
		c.Cross(color, at.X, at.Y, c.base*0.38, 2)
		return
	}
	take.look.mark(c.pen, c.theme.Paper, color, at, c.base*0.38, take.Converged)
}

// intervalBar is a bar with short ends.
func (p pen) intervalBar(color color.NRGBA, x, low, high, base float64) {
	end := base * 0.26
	p.line(color, 1.4, x, low, x, high)
	p.line(color, 1.4, x-end, low, x+end, low)
	p.line(color, 1.4, x-end, high, x+end, high)
}
