package plotting

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

func (v *curveView) paint(p pen) {
	ax, _, inner := v.layout(p)
	ax.Draw(inner.Canvas)
}

// layout draws what stands around the axes, and returns the axes with their
// painter, ready to be drawn on the rest of the page.
func (v *curveView) layout(p pen) (*plot.Plot, *curvePainter, pen) {
	size := p.Size()
	base := baseSize(size)
	small := size.X < 260 || size.Y < 170
	pad := base * 0.9
	inner := p.crop(pad, pad, pad*0.7, pad*0.8)
	if !small {
		inner = inner.crop(0, 0, 0, v.header(inner, base))
		inner = inner.crop(0, 0, v.footer(inner, base), 0)
	}
	painter := &curvePainter{curveView: v, base: base, margin: v.lawMargin(base, size.X/4)}
	inner = inner.crop(0, painter.margin, 0, base/2)
	height := max(inner.Size().Y-4*base, base) // less ticks and the axis' words
	painter.lane, painter.strip = v.songRoom(height, base)
	lag := v.lag
	lag.Lo -= lag.Width() * float64(painter.strip/(height-painter.strip))
	ax := axes(v.theme, v.tempos, lag, inner.Size(), base, false)
	ax.Y.Tick.Marker = above{ax.Y.Tick.Marker, v.lag.Lo}
	if !small {
		ax.X.Label.Text, ax.Y.Label.Text = i18n.L("tempo (BPM)"), lagAxis()
		if label := (lettering{size: base}); label.width(lagAxis()) > inner.Size().Y-4*base {
			ax.Y.Label.Text = i18n.L("lag (ms)")
		}
	}
	ax.Add(painter)
	return ax, painter, inner
}

// header writes title, voice and key, and returns the height it took.
func (v *curveView) header(p pen, base vg.Length) vg.Length {
	title := lettering{size: base * 1.25, bold: true, color: v.theme.Text}
	plain := lettering{size: base * 1.25, color: v.theme.Quiet}
	y := p.Max.Y - title.cap()
	x := p.Min.X
	name := title.fit(v.title, p.Size().X*0.62)
	p.text(name, title, x, y, 0)
	if name != "" {
		x += title.width(name + "  ")
	}
	voice := plain.fit(v.voice, p.Size().X*0.7-(x-p.Min.X))
	p.text(voice, plain, x, y, 0)
	x += plain.width(voice)
	height := vg.Length(0)
	if name != "" || voice != "" {
		height = title.cap() + base*0.9
	}
	return height + v.key(p, base, x, height)
}

// footer says what was left out, and returns the height it took.
func (v *curveView) footer(p pen, base vg.Length) vg.Length {
	if v.note() == "" {
		return 0
	}
	l := lettering{size: base, color: v.theme.Quiet}
	p.text(l.fit(v.note(), p.Size().X), l, p.Min.X, p.Min.Y+base*0.25, 0)
	return base * 1.5
}

func (v *curveView) note() string {
	var parts []string
	if v.left > 0 {
		parts = append(parts, i18n.F("takes without a usable tempo and lag, not drawn: %d", v.left))
	}
	if v.older > 0 {
		parts = append(parts, i18n.F("older takes, not drawn: %d", v.older))
	}
	return joined(parts...)
}

// lawMargin is the room right of the curve for the laws' labels.
func (v *curveView) lawMargin(base, most vg.Length) vg.Length {
	margin := base / 2
	for _, law := range v.laws {
		l := v.lawLettering(law, base)
		margin = max(margin, min(l.width(l.fit(law.label, most))+base, most))
	}
	return margin
}

func (v *curveView) lawLettering(law sampledLaw, base vg.Length) lettering {
	if law.current {
		return lettering{size: base * 1.1, bold: true, color: law.look.line}
	}
	if law.picked {
		return lettering{size: base, color: v.theme.Text}
	}
	return lettering{size: base, color: v.theme.Quiet}
}

// curvePainter is the plotter that draws the data inside the axes.
type curvePainter struct {
	*curveView
	pen
	base, margin vg.Length
	lane, strip  vg.Length // height of a song's lane, and of all
	x, y         func(float64) vg.Length
	labels       placer
}

var _ plot.Plotter = (*curvePainter)(nil)

// Plot implements plot.Plotter.
func (c *curvePainter) Plot(canvas draw.Canvas, p *plot.Plot) {
	c.on(canvas, p)
	if size := c.Size(); size.X < 8 || size.Y < 8 {
		return
	}
	c.ground(p)
	for _, law := range c.laws {
		c.law(law)
	}
	c.songStrip()
	for _, s := range c.strokes {
		c.stroke(s)
	}
	c.reserve()
	c.pickedName()
	c.zeroWords()
	c.lawLabels()
	for _, take := range c.takes {
		c.take(take)
	}
	c.takeLabels()
	if len(c.takes) == 0 {
		c.crop(0, 0, c.y(0)-c.Min.Y, 0).sketch().Sentence(c.theme.Text, sketch.Faded(c.theme.Paper, 0), float64(c.base)*1.2,
			i18n.L("No takes yet: play the machine at one tempo, record, and the first point appears here."))
	}
}

// on puts the painter on the canvas between the axes.
func (c *curvePainter) on(canvas draw.Canvas, p *plot.Plot) {
	c.pen, c.labels = pen{canvas}, placerOn(canvas.Rectangle)
	c.x, c.y = p.Transforms(&canvas)
}

// ground draws tolerance, grid, target and the zero line.
func (c *curvePainter) ground(p *plot.Plot) {
	t := c.theme
	for _, tick := range p.X.Tick.Marker.Ticks(c.tempos.Lo, c.tempos.Hi) {
		c.line(t.Grid, 0.8, c.x(tick.Value), c.Min.Y, c.x(tick.Value), c.Max.Y)
	}
	low, high := c.y(-c.tolerance), c.y(c.tolerance)
	c.fillRect(t.Zone(), c.Min.X, low, c.Max.X, high)
	for _, tick := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		c.line(t.Grid, 0.8, c.Min.X, c.y(tick.Value), c.Max.X, c.y(tick.Value))
	}
	if c.target > 0 {
		top := c.Max.Y
		if len(c.takes) == 0 {
			top = c.y(0) // the invitation stands above
		}
		c.line(t.Quiet, 1, c.x(c.target), c.Min.Y+c.strip, c.x(c.target), top, 4, 3)
	}
	c.line(t.Text, 1.4, c.Min.X, c.y(0), c.Max.X, c.y(0))
	c.line(t.Quiet, 0.8, c.Min.X, c.Min.Y, c.Min.X, c.Max.Y)
	c.line(t.Quiet, 0.8, c.Min.X, c.Min.Y, c.Max.X, c.Min.Y)
}

// law draws one law's band and line.
func (c *curvePainter) law(law sampledLaw) {
	style := draw.LineStyle{Color: c.theme.Quiet, Width: 1, Dashes: law.look.dashes}
	opacity := 0.10
	if len(c.voices) > 0 {
		style.Color, opacity = sketch.Faded(law.look.line, 0.5), 0.05
	}
	switch {
	case law.current:
		style.Color, style.Width, opacity = law.look.line, 2.2, 0.20
	case law.picked:
		style.Color, style.Width, opacity = law.look.line, 1.4, 0.14
	}
	line, band := c.lawPoints(law)
	data := c.crop(0, 0, c.strip, 0) // above the songs
	if area := data.ClipPolygonXY(band); len(area) > 2 {
		c.FillPolygon(sketch.Faded(color.NRGBAModel.Convert(style.Color).(color.NRGBA), opacity), area)
	}
	c.StrokeLines(style, data.ClipLinesXY(line)...)
}

// lawPoints places the law on the canvas: its line, and the outline of its band.
// Lags far off the axis are pulled in, so that the clipping works on sane numbers.
func (c *curvePainter) lawPoints(law sampledLaw) (line, band []vg.Point) {
	near := c.lag.Padded(20)
	at := func(bpm, lag float64) vg.Point { return vg.Point{X: c.x(bpm), Y: c.y(near.Clamp(lag))} }
	n := len(law.points)
	line, band = make([]vg.Point, n), make([]vg.Point, 2*n)
	for i, p := range law.points {
		line[i] = at(p.bpm, p.lag)
		band[i] = at(p.bpm, p.high)
		band[2*n-1-i] = at(p.bpm, p.low)
	}
	return line, band
}

// at is where a take stands: one that is far, within the axes at its side.
func (c *curvePainter) at(take drawnTake) vg.Point {
	at := vg.Point{X: c.x(take.TempoBPM), Y: c.y(c.lag.Clamp(take.LagMS))}
	if take.far {
		at.Y -= vg.Length(math.Copysign(1, take.LagMS)) * c.base * 0.9
	}
	return at
}

// reserve keeps labels off the takes and the current law.
func (c *curvePainter) reserve() {
	for _, take := range c.takes {
		at := c.at(take)
		c.labels.around(at, c.markSize(take)+1)
		if take.far {
			continue
		}
		low, high := c.interval(take)
		c.labels.mark(vg.Rectangle{Min: vg.Point{X: at.X - c.base*0.2, Y: low}, Max: vg.Point{X: at.X + c.base*0.2, Y: high}})
	}
	for _, law := range c.laws {
		line, _ := c.lawPoints(law)
		c.labels.line(line)
	}
	for _, s := range c.strokes {
		line, _ := c.lawPoints(s.sampledLaw)
		c.labels.line(line)
		if s.picked {
			c.labels.around(c.strokeAt(s), c.base*0.5)
		}
	}
}

// interval is where a take's interval ends, within the axes.
func (c *curvePainter) interval(take drawnTake) (low, high vg.Length) {
	return c.y(c.lag.Clamp(take.CI95MS[0])), c.y(c.lag.Clamp(take.CI95MS[1]))
}

func (c *curvePainter) markSize(take drawnTake) vg.Length {
	switch {
	case take.far:
		return c.base * 0.9
	case take.Current:
		return c.base * 0.85
	}
	return c.base * 0.42
}

// take draws the voice's mark, filled within tolerance, over its interval, or where
// it is far, under an arrow that points there.
func (c *curvePainter) take(take drawnTake) {
	at, color := c.at(take), c.theme.Side(take.LagMS)
	if take.Converged {
		color = c.theme.Tight
	}
	if take.far {
		way := vg.Length(math.Copysign(1, take.LagMS)) * c.base
		tip := at.Add(vg.Point{Y: way * 0.85})
		c.FillPolygon(color, []vg.Point{tip, tip.Add(vg.Point{X: -c.base * 0.4, Y: -way * 0.4}), tip.Add(vg.Point{X: c.base * 0.4, Y: -way * 0.4})})
		take.look.mark(c.pen, c.theme.Paper, color, at, c.base*0.38, false)
		return
	}
	if take.Current {
		c.ring(c.theme.Text, 1.2, at, c.base*0.8)
	}
	low, high := c.interval(take)
	intervalBar(c.pen, color, at.X, low, high, c.base)
	take.look.mark(c.pen, c.theme.Paper, color, at, c.base*0.38, take.Converged)
}

// intervalBar is a bar with short ends.
func intervalBar(p pen, color color.NRGBA, x, low, high, base vg.Length) {
	end := base * 0.26
	p.line(color, 1.4, x, low, x, high)
	p.line(color, 1.4, x-end, low, x+end, low)
	p.line(color, 1.4, x-end, high, x+end, high)
}
