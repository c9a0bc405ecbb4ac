// Package dial is the plate dial: the index plate drawn with its notches, where
// it stands, where it should go and which way to turn it.
//
// Settings are in steps and positive is ahead (voice earlier); one notch is one
// step. Ahead is drawn clockwise and said in words, so that nobody has to guess.
// Positions are in device-independent pixels.
package dial

import (
	"image/color"
	"math"
	"strconv"
	"time"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// Dial is the plate dial widget. All its methods belong to the UI goroutine.
type Dial struct {
	ink.Drawing

	plate     sketch.Plate
	current   int
	target    int
	hasTarget bool

	shown  float64 // the setting drawn, on its way to current while it turns
	moving *fyne.Animation
}

// New returns a dial at setting 0 of a plate whose notches are not known.
func New() *Dial {
	d := &Dial{}
	d.Begin(d, func(float32) fyne.Size { return fyne.NewSquareSize(160) }, d.draw)
	return d
}

// SetPlate sets how many notches the plate has in a turn; 0 or less when not
// known, which draws a plain ring with a mark for every ten steps.
func (d *Dial) SetPlate(notchesPerTurn int) {
	d.plate = sketch.Plate{Notches: max(0, notchesPerTurn)}
	d.Refresh()
}

// Set shows at once the setting the plate stands at and, if hasTarget, the one
// it should go to. Settings beyond a turn wrap around the plate; the number in
// the middle stays the full setting.
func (d *Dial) Set(current, target int, hasTarget bool) {
	d.stop()
	d.current, d.target, d.hasTarget = current, target, hasTarget
	d.shown = float64(current)
	d.Refresh()
}

// Turn shows the plate turning to a new setting, and then no target. Call it once
// the builder has said that the plate is moved.
func (d *Dial) Turn(to int) {
	d.stop()
	from := d.shown
	d.current, d.hasTarget = to, false
	if !fyne.CurrentApp().Settings().ShowAnimations() || from == float64(to) {
		d.shown = float64(to)
		d.Refresh()
		return
	}
	d.moving = fyne.NewAnimation(turnTime(from, to), func(done float32) {
		d.shown = from + (float64(to)-from)*float64(done)
		d.Refresh()
	})
	d.moving.Curve = fyne.AnimationEaseInOut
	d.moving.Start()
}

// stop ends a turn under way.
func (d *Dial) stop() {
	if d.moving != nil {
		d.moving.Stop()
		d.moving = nil
	}
}

// steps returns the move still to be made.
func (d *Dial) steps() int {
	if !d.hasTarget {
		return 0
	}
	return d.target - d.current
}

// AccessibilityLabel says what the dial shows.
func (d *Dial) AccessibilityLabel() string {
	s := i18n.F("Index plate at setting %s.", look.Setting(d.current))
	if d.hasTarget {
		s += " " + i18n.F("Turn: %s, to setting %s.", look.Move(d.steps()), look.Setting(d.target))
	}
	return s
}

// field is the picture's geometry: its middle and its radii.
type field struct {
	x, y       float64
	r          float64 // outer edge of the plate
	hub        float64 // the quiet middle
	labels     float64 // numbers
	text, huge float64 // sizes of type
}

// layout fits the plate into w by h, with type that grows with the theme's text.
func layout(w, h, times float64) field {
	r := max(0, min(w, h)/2-11)
	return field{
		x: w / 2, y: h / 2, r: r,
		labels: r * 0.79, hub: r * 0.69,
		text: max(11, min(17*times, r*0.155)), huge: r * 0.40,
	}
}

// painter draws one picture of a dial.
type painter struct {
	*Dial
	sketch.Pen
	field
	inks sketch.Inks
}

// draw draws the dial on its board: it changes seldom and is small.
func (d *Dial) draw(p *ink.Pen) {
	p.Clear(color.Transparent)
	wide, high := p.Size()
	c := painter{d, p.Pen, layout(wide, high, float64(look.Times(d.Theme()))), look.Inks(d.Theme())}
	d.plate.Draw(c.Pen, c.inks, c.x, c.y, c.r, 1.2)
	c.drawNumbers()
	c.Disc(c.inks.Paper, c.x, c.y, c.hub)
	c.Ring(sketch.Mix(c.inks.Paper, c.inks.Mark, 0.45), c.x, c.y, c.hub, 1)
	if d.steps() != 0 {
		from := d.plate.Angle(d.shown)
		d.plate.Move(c.Pen, c.inks, c.x, c.y, c.r+5, 4, from, from+d.plate.Angle(float64(d.steps())))
	}
	c.drawMarks()
	c.drawWords()
}

// drawNumbers writes the number of long notches where they have room and no mark
// stands.
func (p *painter) drawNumbers() {
	n := p.plate.PerTurn()
	size := p.text * 0.85
	room := p.TextWidth(size, false, strconv.Itoa(n)) + size*0.8
	_, each := p.plate.Stride(p.r)
	for each < n && float64(each)/float64(n)*2*math.Pi*p.labels < room {
		each *= 2
	}
	for i := 0; i <= n-(each+1)/2; i += each {
		a := p.plate.Angle(float64(i))
		if p.marked(a, room*0.75/max(1, p.labels)) {
			continue
		}
		at := sketch.On(p.x, p.y, p.labels, a)
		p.Text(p.inks.Quiet, at.X, at.Y, sketch.Centre, size, false, strconv.Itoa(i))
	}
}

// marked tells whether one of the marks stands within reach of the angle a.
func (d *Dial) marked(a, reach float64) bool {
	near := func(setting float64) bool {
		return math.Abs(math.Remainder(d.plate.Angle(setting)-a, 2*math.Pi)) < reach
	}
	return near(d.shown) || (d.hasTarget && near(float64(d.target)))
}

// drawMarks draws a full wedge where the plate stands and a hollow one where it
// should go.
func (p *painter) drawMarks() {
	if p.hasTarget && p.steps() != 0 {
		a := p.plate.Angle(float64(p.target))
		p.Shape(p.inks.Mark, wedge(p.field, a, 0))
		p.Shape(p.inks.Paper, wedge(p.field, a, 2.2))
	}
	p.Shape(p.inks.Text, wedge(p.field, p.plate.Angle(p.shown), 0))
}

// wedge returns a triangle on the plate with its tip at the rim, drawn in by
// inset on all sides.
func wedge(g field, a, inset float64) []sketch.Pt {
	tip, foot := g.r-1-inset*2.2, g.hub+2+inset
	half := max(1, g.r*0.085-inset*1.25)
	return []sketch.Pt{
		sketch.On(g.x, g.y, tip, a),
		sketch.On(g.x, g.y, foot, a+half/foot),
		sketch.On(g.x, g.y, foot, a-half/foot),
	}
}

// roomy is the radius from which the plate has room for every word.
const roomy = 90

// drawWords writes the setting, the move and which way ahead is.
func (p *painter) drawWords() {
	setting := look.Setting(int(math.Round(p.shown)))
	p.Text(p.inks.Text, p.x, p.y-p.r*0.10, sketch.Centre, p.Fit(p.huge, true, setting, p.hub*1.7), true, setting)
	if p.r >= roomy {
		p.drawWay(p.y - p.r*0.54)
		p.Text(p.inks.Quiet, p.x, p.y-p.r*0.36, sketch.Centre, p.text*0.95, false, i18n.L("set at"))
	} else {
		p.drawWay(p.y - p.r*0.45)
	}
	words, colour := p.moveWords(p.inks)
	if !p.hasTarget {
		p.Text(colour, p.x, p.y+p.r*0.24, sketch.Centre, p.Fit(p.text*0.95, false, words, p.hub*1.6), false, words)
		return
	}
	p.Text(colour, p.x, p.y+p.r*0.24, sketch.Centre, p.Fit(p.text*1.45, true, words, p.hub*1.6), true, words)
	if p.steps() != 0 {
		to := i18n.F("to %s", look.Setting(p.target))
		if p.r >= roomy {
			to = p.targetWords()
		}
		p.Text(p.inks.Quiet, p.x, p.y+p.r*0.45, sketch.Centre, p.Fit(p.text*0.95, false, to, p.hub*1.45), false, to)
	}
}

// moveWords says the move, or what else there is to say, and in which colour.
func (d *Dial) moveWords(c sketch.Inks) (string, color.NRGBA) {
	switch steps := d.steps(); {
	case steps > 0:
		return "+" + look.Move(steps), c.Mark
	case steps < 0:
		return "–" + look.Move(steps), c.Mark
	case d.hasTarget:
		return look.Move(0), c.Tight
	case d.plate.Notches == 0:
		return i18n.L("notches not known"), c.Quiet
	}
	return "", c.Quiet
}

// targetWords says where the plate goes and how a move of more than a turn divides
// into turns and steps, since the arc can show but one.
func (d *Dial) targetWords() string {
	steps, to := max(d.steps(), -d.steps()), look.Setting(d.target)
	if d.plate.Notches == 0 || steps < d.plate.Notches {
		return i18n.F("to %s", to)
	}
	turns, rest := steps/d.plate.Notches, steps%d.plate.Notches
	if rest > 0 {
		return i18n.N(turns, "to %s, %d turn + %d", "to %s, %d turns + %d", to, turns, rest)
	}
	return i18n.N(turns, "to %s, %d turn", "to %s, %d turns", to, turns)
}

// drawWay says at height y, in the upper hub, that ahead is clockwise: up there
// that is to the right.
func (p *painter) drawWay(y float64) {
	size := p.text * 0.85
	word := i18n.L("ahead")
	half := p.TextWidth(size, false, word) / 2
	p.Text(p.inks.Quiet, p.x-size*0.4, y, sketch.Centre, size, false, word)
	x := p.x + half + size*0.05
	p.Shape(p.inks.Quiet, []sketch.Pt{{X: x, Y: y - size*0.34}, {X: x + size*0.62, Y: y}, {X: x, Y: y + size*0.34}})
}

// turnTime returns how long the picture takes to turn: longer for more steps,
// never long enough to wait for.
func turnTime(from float64, to int) time.Duration {
	steps := math.Abs(float64(to) - from)
	return time.Duration(min(1200, 350+40*steps)) * time.Millisecond
}
