package fan

import (
	"image"
	"image/color"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// inkSet is the theme's colours as the fan needs them.
type inkSet struct {
	paper, grid, text, quiet, reference, voice, late, early, tight color.Color
	small                                                          float64
}

// inks asks the theme for the colours.
func inks(th fyne.Theme) inkSet {
	v := fyne.CurrentApp().Settings().ThemeVariant()
	pick := func(name fyne.ThemeColorName) color.Color { return look.Pick(th, name, v) }
	return inkSet{
		paper: pick(look.Paper), grid: pick(look.Grid),
		text: pick(theme.ColorNameForeground), quiet: pick(theme.ColorNamePlaceHolder),
		reference: pick(look.Reference), voice: pick(look.Voice),
		late: pick(look.Late), early: pick(look.Early), tight: pick(look.Tight),
		small: float64(th.Size(theme.SizeNameCaptionText)),
	}
}

// painter draws the fan.
type painter struct {
	img *image.RGBA
	pen ink.Pen
}

// field is the picture's geometry.
type field struct {
	w, h        float64
	axis        axis
	left, right float64 // where the axis ends
	apex        float64 // height of the reference, whence the rays come
	top, bottom float64 // of the band of voice hits, first pair on top
	bar         float64 // height of the interval
	base        float64 // the axis line
	words       float64 // middle of the summary line
	row         float64 // of text
}

// x returns where a lag lies.
func (g *field) x(ms float64) float64 { return g.axis.x(ms, g.left, g.right) }

// layout divides a picture w by h.
func layout(f *Fan, c *inkSet, w, h float64) *field {
	row := c.small * 1.5
	g := &field{w: w, h: h, axis: axisOf(&f.reading, f.tolerance), left: 14, right: w - 14, row: row}
	g.words = 4 + row/2
	g.apex = row + 14
	g.base = h - row - 5
	g.bar = g.base - 11
	g.bottom = g.bar - 14
	g.top = min(g.bottom, g.apex+(g.bottom-g.apex)*0.42)
	return g
}

// draw returns the picture at w by h device pixels.
func (p *painter) draw(f *Fan, w, h int, scale float64) image.Image {
	if p.img == nil || p.img.Rect.Dx() != w || p.img.Rect.Dy() != h {
		p.img = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	p.pen.Img, p.pen.Scale, p.pen.Theme = p.img, scale, f.Theme()
	if w < 1 || h < 1 {
		return p.img
	}
	c := inks(f.Theme())
	p.pen.Clear(c.paper)
	if len(f.reading.Pairs) == 0 {
		p.drawSentence(f, &c)
		return p.img
	}
	wide, high := p.pen.Size()
	g := layout(f, &c, wide, high)
	p.drawZones(f, &c, g)
	p.drawAxis(&c, g)
	p.drawRays(f, &c, g)
	p.drawInterval(f, &c, g)
	p.drawLabels(f, &c, g)
	p.drawSummary(f, &c, g)
	return p.img
}

// drawZones shades the tolerance and rules the limit.
func (p *painter) drawZones(f *Fan, c *inkSet, g *field) {
	if f.tolerance > 0 {
		lo, hi := max(0, g.x(-f.tolerance)), min(g.w, g.x(f.tolerance))
		p.pen.Box(ink.Mix(c.paper, c.tight, 0.13), lo, g.apex, hi, g.base)
		p.pen.Upright(ink.Mix(c.paper, c.tight, 0.6), lo, g.apex, g.base, 1)
		p.pen.Upright(ink.Mix(c.paper, c.tight, 0.6), hi, g.apex, g.base, 1)
	}
	for _, ms := range []float64{-f.limit, f.limit} {
		if x := g.x(ms); f.limit > f.tolerance && x > 0 && x < g.w {
			p.pen.Dashes(c.quiet, 1, 4, ink.Pt{X: x, Y: g.apex}, ink.Pt{X: x, Y: g.base})
		}
	}
}

// drawLabels names the sides, the tolerance and the limit. They stand in the
// upper corners and beside the reference, where few rays pass.
func (p *painter) drawLabels(f *Fan, c *inkSet, g *field) {
	const clear = 24 // arrow, gaps and the reference's disc
	if early := i18n.L("early"); g.x(0)-p.pen.TextWidth(c.small, true, early) > clear {
		p.side(c.early, g.left-8, g.apex, -1, early, c.small)
	}
	if late := i18n.L("late"); g.w-g.x(0)-p.pen.TextWidth(c.small, true, late) > clear {
		p.side(c.late, g.right+8, g.apex, 1, late, c.small)
	}
	away := -1.0 // to the side the rays do not take
	if f.reading.LagMS < 0 {
		away = 1
	}
	y := g.apex + c.small*1.6
	if x := g.x(away * f.tolerance); f.tolerance > 0 {
		p.tag(c, c.tight, x, y, -away, math.Abs(g.x(0)-x)-4, i18n.L("tight"))
	}
	for _, way := range []float64{-1, 1} {
		if x := g.x(way * f.limit); f.limit > f.tolerance && x > 0 && x < g.w {
			p.tag(c, c.quiet, x, y, way, g.w, i18n.L("limit"))
		}
	}
}

// tag writes a word beside the upright at x, on the side way points to, unless it
// needs more than room or leaves the picture.
func (p *painter) tag(c *inkSet, col color.Color, x, y, way, room float64, word string) {
	width := p.pen.TextWidth(c.small, false, word)
	left := x + 5
	if way < 0 {
		left = x - 5 - width
	}
	if w, _ := p.pen.Size(); width+5 > room || left < 0 || left+width > w {
		return
	}
	p.pen.Text(col, left, y, ink.Left, c.small, false, word)
}

// drawAxis draws the scale of lags; its last label carries the unit.
func (p *painter) drawAxis(c *inkSet, g *field) {
	y := g.base + 4 + g.row/2
	marks := g.axis.marks(max(3, int(g.w/75)))
	for i, m := range marks {
		x := g.x(m.at)
		p.pen.Upright(ink.Mix(c.paper, c.grid, 0.7), x, g.apex, g.base, 1)
		p.pen.Upright(c.quiet, x, g.base, g.base+4, 1)
		label := m.label
		if i == len(marks)-1 {
			label = i18n.F("%s ms", label)
		}
		half := p.pen.TextWidth(c.small, m.at == 0, label) / 2
		x = max(half+3, min(x, g.w-half-3))
		p.pen.Text(c.quiet, x, y, ink.Centre, c.small, m.at == 0, label)
	}
	p.pen.Level(c.grid, 0, g.w, g.base, 1.5)
}

// side names one side of zero at the picture's edge x, with an arrow that way.
func (p *painter) side(c color.Color, x, y, way float64, word string, size float64) {
	p.pen.Shape(c, []ink.Pt{{X: x, Y: y}, {X: x - way*7, Y: y - 4}, {X: x - way*7, Y: y + 4}})
	align := ink.Left
	if way > 0 {
		align = ink.Right
	}
	p.pen.Text(c, x-way*11, y, align, size, true, word)
}

// drawRays draws each pair: rays first, so that no head is hidden.
func (p *painter) drawRays(f *Fan, c *inkSet, g *field) {
	zero := g.x(0)
	p.pen.Upright(c.reference, zero, g.apex, g.base, 1.5)
	apex := ink.Pt{X: zero, Y: g.apex}
	faint := color.NRGBAModel.Convert(c.voice).(color.NRGBA)
	faint.A = uint8(max(40, min(150, 2200/len(f.reading.Pairs))))
	for i, pair := range f.reading.Pairs {
		head := g.head(i, len(f.reading.Pairs), pair)
		if pair.Used {
			p.pen.Line(faint, 1.2, apex, head)
		} else {
			p.pen.Dashes(ink.Mix(c.paper, c.quiet, 0.6), 1, 4, apex, head)
		}
	}
	for i, pair := range f.reading.Pairs {
		p.drawHead(c, g, g.head(i, len(f.reading.Pairs), pair), pair)
	}
	p.pen.Disc(c.reference, zero, g.apex, 5.5)
}

// head returns where pair i of n ends; lags beyond the axis stay at its edge.
func (g *field) head(i, n int, pair calib.Pair) ink.Pt {
	share := 0.5
	if n > 1 {
		share = float64(i) / float64(n-1)
	}
	lag := pair.LagMS
	if math.IsNaN(lag) {
		lag = 0
	}
	x := max(g.left-6, min(g.right+6, g.x(lag)))
	return ink.Pt{X: x, Y: g.top + share*(g.bottom-g.top)}
}

// drawHead draws a voice hit: a diamond when used, else a cross; an arrow for
// one that lies beyond the axis.
func (p *painter) drawHead(c *inkSet, g *field, at ink.Pt, pair calib.Pair) {
	switch x := g.x(pair.LagMS); {
	case pair.Used:
		p.pen.Diamond(c.voice, at.X, at.Y, 5)
	case x < g.left-6:
		p.pen.Shape(c.quiet, []ink.Pt{{X: at.X - 6, Y: at.Y}, {X: at.X + 3, Y: at.Y - 5}, {X: at.X + 3, Y: at.Y + 5}})
	case x > g.right+6:
		p.pen.Shape(c.quiet, []ink.Pt{{X: at.X + 6, Y: at.Y}, {X: at.X - 3, Y: at.Y - 5}, {X: at.X - 3, Y: at.Y + 5}})
	default:
		p.pen.Cross(c.quiet, at.X, at.Y, 3.6, 1.8)
	}
}

// colour returns the colour of the reading's verdict.
func (f *Fan) colour(c *inkSet) color.Color {
	switch {
	case math.Abs(f.reading.LagMS) <= f.tolerance:
		return c.tight
	case f.reading.LagMS < 0:
		return c.early
	}
	return c.late
}

// drawInterval draws the lag with its 95 % interval.
func (p *painter) drawInterval(f *Fan, c *inkSet, g *field) {
	col := f.colour(c)
	lo, hi, mid := g.x(f.reading.LagCI95MS[0]), g.x(f.reading.LagCI95MS[1]), g.x(f.reading.LagMS)
	if math.IsNaN(lo + hi + mid) {
		return
	}
	p.pen.Level(col, lo, hi, g.bar, 3)
	p.pen.Upright(col, lo, g.bar-5, g.bar+5, 2)
	p.pen.Upright(col, hi, g.bar-5, g.bar+5, 2)
	p.pen.Disc(c.paper, mid, g.bar, 5.5)
	p.pen.Ring(col, mid, g.bar, 4.5, 2)
}

// drawSummary writes the reading in words along the top.
func (p *painter) drawSummary(f *Fan, c *inkSet, g *field) {
	size := c.small * 1.08
	s := f.summary()
	if w := p.pen.TextWidth(size, true, s); w > g.w-12 {
		s, _, _ = strings.Cut(s, " · ")
	}
	p.pen.Text(f.colour(c), g.w/2, g.words, ink.Centre, size, true, s)
}

// drawSentence writes what an empty fan says.
func (p *painter) drawSentence(f *Fan, c *inkSet) {
	w, h := p.pen.Size()
	size := c.small * 1.1
	lines := p.pen.Wrap(size, f.sentence(), min(460, w-30))
	row := size * 1.5
	p.pen.Upright(c.grid, w/2, 12, h-12, 1)
	tall := row * float64(len(lines))
	p.pen.Box(c.paper, 0, h/2-tall/2-5, w, h/2+tall/2+5)
	for i, line := range lines {
		p.pen.Text(c.quiet, w/2, h/2-tall/2+row*(float64(i)+0.5), ink.Centre, size, false, line)
	}
}
