package dial

import (
	"image"
	"image/color"
	"math"
	"strconv"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/i18n"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// inkSet is the theme's colours as the dial needs them.
type inkSet struct {
	paper, plate, rim, notch, text, quiet, mark, tight color.Color
}

// inks asks the theme for the colours.
func inks(th fyne.Theme) inkSet {
	v := fyne.CurrentApp().Settings().ThemeVariant()
	pick := func(name fyne.ThemeColorName) color.Color { return look.Pick(th, name, v) }
	paper, mark := pick(look.Paper), pick(theme.ColorNamePrimary)
	return inkSet{
		paper: paper, mark: mark,
		plate: ink.Mix(paper, mark, 0.17), rim: ink.Mix(paper, mark, 0.45),
		notch: ink.Mix(paper, pick(theme.ColorNameForeground), 0.72),
		text:  pick(theme.ColorNameForeground), quiet: pick(theme.ColorNamePlaceHolder),
		tight: pick(look.Tight),
	}
}

// painter draws the dial.
type painter struct {
	img *image.RGBA
	pen ink.Pen
}

// plate is the picture's geometry: its middle and its radii.
type plate struct {
	x, y       float64
	r          float64 // outer edge of the plate
	minor      float64 // inner ends of short notches
	major      float64 // inner ends of long ones
	hub        float64 // the quiet middle
	labels     float64 // numbers
	text, huge float64 // sizes of type
}

// layout fits the plate into w by h, with type that grows with the theme's text.
func layout(w, h, times float64) plate {
	r := max(0, min(w, h)/2-11)
	return plate{
		x: w / 2, y: h / 2, r: r,
		minor: r * 0.93, major: r * 0.88, labels: r * 0.79, hub: r * 0.69,
		text: max(11, min(17*times, r*0.135)), huge: r * 0.40,
	}
}

// draw returns the picture at w by h device pixels. The dial changes seldom and
// is small: it is drawn anew each time.
func (p *painter) draw(d *Dial, w, h int, scale float64) image.Image {
	if p.img == nil || p.img.Rect.Dx() != w || p.img.Rect.Dy() != h {
		p.img = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	p.pen.Img, p.pen.Scale, p.pen.Theme = p.img, scale, d.Theme()
	if w < 1 || h < 1 {
		return p.img
	}
	p.pen.Clear(color.Transparent)
	wide, high := p.pen.Size()
	c, g := inks(d.Theme()), layout(wide, high, float64(look.Times(d.Theme())))
	p.drawPlate(d, &c, g)
	p.drawMove(d, &c, g)
	p.drawMarks(d, &c, g)
	p.drawWords(d, &c, g)
	return p.img
}

// drawPlate draws the disc with its notches and their numbers.
func (p *painter) drawPlate(d *Dial, c *inkSet, g plate) {
	p.pen.Disc(c.plate, g.x, g.y, g.r)
	p.pen.Ring(c.rim, g.x, g.y, g.r-0.75, 1.5)
	n := d.perTurn()
	stride := 10
	if d.notches > 0 {
		stride = strideOf(n, 2*math.Pi*g.r/5)
	}
	long := stride * longEvery(stride)
	for i := 0; i < n; i += stride {
		a := angle(float64(i), n)
		inner, width := g.minor, 1.2
		if i%long == 0 {
			inner, width = g.major, 2
		}
		p.pen.Line(c.notch, width, ink.On(g.x, g.y, g.r, a), ink.On(g.x, g.y, inner, a))
	}
	p.drawNumbers(d, c, g, long)
	p.pen.Disc(c.paper, g.x, g.y, g.hub)
	p.pen.Ring(c.rim, g.x, g.y, g.hub, 1)
}

// strides are the counts of notches that one drawn notch may stand for.
var strides = []int{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000}

// strideOf returns how many notches one drawn notch stands for, so that no more
// than most are drawn.
func strideOf(n int, most float64) int {
	for _, s := range strides {
		if float64(n)/float64(s) <= most {
			return s
		}
	}
	return max(1, n)
}

// longEvery returns how many drawn notches lie from one long notch to the next,
// so that long ones stand for round numbers of steps.
func longEvery(stride int) int {
	switch first := strconv.Itoa(stride)[0]; first {
	case '1':
		return 10
	case '2':
		return 5
	}
	return 2
}

// drawNumbers writes the number of long notches where they have room and no mark
// stands.
func (p *painter) drawNumbers(d *Dial, c *inkSet, g plate, long int) {
	n := d.perTurn()
	size := g.text * 0.85
	room := p.pen.TextWidth(size, false, strconv.Itoa(n)) + size*0.8
	each := long
	for each < n && float64(each)/float64(n)*2*math.Pi*g.labels < room {
		each *= 2
	}
	for i := 0; i <= n-(each+1)/2; i += each {
		a := angle(float64(i), n)
		if d.marked(a, room*0.75/max(1, g.labels)) {
			continue
		}
		at := ink.On(g.x, g.y, g.labels, a)
		p.pen.Text(c.quiet, at.X, at.Y, ink.Centre, size, false, strconv.Itoa(i))
	}
}

// marked tells whether one of the marks stands within reach of the angle a.
func (d *Dial) marked(a, reach float64) bool {
	near := func(setting float64) bool {
		return math.Abs(math.Remainder(angle(setting, d.perTurn())-a, 2*math.Pi)) < reach
	}
	return near(d.shown) || (d.hasTarget && near(float64(d.target)))
}

// fullArc is as much of a turn as the arc shows; its ends must stay apart.
const fullArc = 2 * math.Pi * 0.95

// drawMove draws the arc with its arrow from where the plate stands to where it
// should go.
func (p *painter) drawMove(d *Dial, c *inkSet, g plate) {
	steps := d.steps()
	if steps == 0 {
		return
	}
	from := angle(d.shown, d.perTurn())
	sweep := max(-fullArc, min(fullArc, angle(float64(steps), d.perTurn())))
	radius := g.r + 5
	p.pen.Arc(c.mark, g.x, g.y, radius, 4, from, from+sweep)
	p.arrow(c.mark, g, radius, from+sweep, math.Copysign(1, sweep), math.Abs(sweep))
}

// arrow draws the head that ends at angle a, pointing clockwise if way is
// positive; it shrinks with an arc of few radians.
func (p *painter) arrow(c color.Color, g plate, radius, a, way, arc float64) {
	length := min(13, arc*radius)
	back := a - way*length/radius
	p.pen.Shape(c, []ink.Pt{
		ink.On(g.x, g.y, radius, a),
		ink.On(g.x, g.y, radius+5.5, back),
		ink.On(g.x, g.y, radius-5.5, back),
	})
}

// drawMarks draws a full wedge where the plate stands and a hollow one where it
// should go.
func (p *painter) drawMarks(d *Dial, c *inkSet, g plate) {
	if d.hasTarget && d.steps() != 0 {
		a := angle(float64(d.target), d.perTurn())
		p.pen.Shape(c.mark, wedge(g, a, 0))
		p.pen.Shape(c.paper, wedge(g, a, 2.2))
	}
	p.pen.Shape(c.text, wedge(g, angle(d.shown, d.perTurn()), 0))
}

// wedge returns a triangle on the plate with its tip at the rim, drawn in by
// inset on all sides.
func wedge(g plate, a, inset float64) []ink.Pt {
	tip, foot := g.r-1-inset*2.2, g.hub+2+inset
	half := max(1, g.r*0.085-inset*1.25)
	return []ink.Pt{
		ink.On(g.x, g.y, tip, a),
		ink.On(g.x, g.y, foot, a+half/foot),
		ink.On(g.x, g.y, foot, a-half/foot),
	}
}

// roomy is the radius from which the plate has room for every word.
const roomy = 90

// drawWords writes the setting, the move and which way ahead is.
func (p *painter) drawWords(d *Dial, c *inkSet, g plate) {
	setting := look.Setting(int(math.Round(d.shown)))
	p.pen.Text(c.text, g.x, g.y-g.r*0.10, ink.Centre, p.fit(setting, g.huge, true, g.hub*1.7), true, setting)
	if g.r >= roomy {
		p.drawWay(c, g, g.y-g.r*0.54)
		p.pen.Text(c.quiet, g.x, g.y-g.r*0.36, ink.Centre, g.text*0.95, false, i18n.L("set at"))
	} else {
		p.drawWay(c, g, g.y-g.r*0.45)
	}
	words, colour := d.moveWords(c)
	if !d.hasTarget {
		p.pen.Text(colour, g.x, g.y+g.r*0.24, ink.Centre, p.fit(words, g.text*0.95, false, g.hub*1.6), false, words)
		return
	}
	p.pen.Text(colour, g.x, g.y+g.r*0.24, ink.Centre, p.fit(words, g.text*1.45, true, g.hub*1.6), true, words)
	if d.steps() != 0 {
		to := i18n.F("to %s", look.Setting(d.target))
		if g.r >= roomy {
			to = d.targetWords()
		}
		p.pen.Text(c.quiet, g.x, g.y+g.r*0.45, ink.Centre, p.fit(to, g.text*0.95, false, g.hub*1.45), false, to)
	}
}

// moveWords says the move, or what else there is to say, and in which colour.
func (d *Dial) moveWords(c *inkSet) (string, color.Color) {
	switch steps := d.steps(); {
	case steps > 0:
		return "+" + look.Move(steps), c.mark
	case steps < 0:
		return "–" + look.Move(steps), c.mark
	case d.hasTarget:
		return look.Move(0), c.tight
	case d.notches == 0:
		return i18n.L("notches not known"), c.quiet
	}
	return "", c.quiet
}

// targetWords says where the plate goes and how a move of more than a turn divides
// into turns and steps, since the arc can show but one.
func (d *Dial) targetWords() string {
	steps, to := max(d.steps(), -d.steps()), look.Setting(d.target)
	if d.notches == 0 || steps < d.notches {
		return i18n.F("to %s", to)
	}
	turns, rest := steps/d.notches, steps%d.notches
	if rest > 0 {
		return i18n.N(turns, "to %s, %d turn + %d", "to %s, %d turns + %d", to, turns, rest)
	}
	return i18n.N(turns, "to %s, %d turn", "to %s, %d turns", to, turns)
}

// fit returns the size at which s is no wider than wide, at most size.
func (p *painter) fit(s string, size float64, bold bool, wide float64) float64 {
	if w := p.pen.TextWidth(size, bold, s); w > wide {
		return size * wide / w
	}
	return size
}

// drawWay says at height y, in the upper hub, that ahead is clockwise: up there
// that is to the right.
func (p *painter) drawWay(c *inkSet, g plate, y float64) {
	size := g.text * 0.85
	word := i18n.L("ahead")
	half := p.pen.TextWidth(size, false, word) / 2
	p.pen.Text(c.quiet, g.x-size*0.4, y, ink.Centre, size, false, word)
	x := g.x + half + size*0.05
	p.pen.Shape(c.quiet, []ink.Pt{{X: x, Y: y - size*0.34}, {X: x + size*0.62, Y: y}, {X: x, Y: y + size*0.34}})
}

// turnTime returns how long the picture takes to turn: longer for more steps,
// never long enough to wait for.
func turnTime(from float64, to int) time.Duration {
	steps := math.Abs(float64(to) - from)
	return time.Duration(min(1200, 350+40*steps)) * time.Millisecond
}
