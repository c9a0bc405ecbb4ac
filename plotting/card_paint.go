package plotting

import (
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/plotting/sketch"
)

// paint draws the page at its own size.
func (v cardPage) paint(p pen) {
	inner := p.crop(margin, margin, margin, margin)
	cautionStrip(inner, v.unit)
	body := inner.crop(0, 0, foot*v.unit, v.headHeight())
	if len(v.lines) > 0 {
		v.key(inner.crop(0, 0, 0, inner.h-(foot-2)*v.unit))
	}
	switch {
	case v.upright:
		v.uprightHeading(inner)
		v.table(body)
	case len(v.lines) == 0:
		v.heading(inner)
		body.Sentence(inks.Quiet, inks.Paper, 20*v.unit,
			i18n.L("No settings yet: tune one tempo of the set list, and its setting is printed here."))
	default:
		panel := 54 * mm * v.unit
		v.heading(inner)
		v.platePanel(body.crop(body.w-panel, 0, 0, 0))
		v.table(body.crop(0, panel+4*mm*v.unit, 0, 0))
	}
}

// title writes the machine's name on top.
func (v cardPage) title(p pen) {
	l := lettering{size: 26 * v.unit, bold: true, color: inks.Text}
	l = l.shrunk(v.machine, max(p.w, l.width(v.machine)*0.6))
	p.text(l.fit(v.machine, p.w), l, 0, 18*v.unit, 0)
}

// heading writes the machine on a line, and what else the card is about on another.
func (v cardPage) heading(p pen) {
	v.title(p)
	l := lettering{size: 11 * v.unit, color: inks.Quiet}
	p.text(l.fit(joined(v.about...), p.w), l, 0, 35*v.unit, 0)
	p.line(inks.Text, 1.6*v.unit, 0, 44*v.unit, p.w, 44*v.unit)
}

// uprightHeading writes the same in lines left of the plate.
func (v cardPage) uprightHeading(p pen) {
	const plateWidth = 112
	left := p.crop(0, plateWidth*v.unit, 0, 0)
	v.title(left)
	l := lettering{size: 10 * v.unit, color: inks.Quiet}
	y := 35 * v.unit
	for _, s := range v.about {
		shrunk := l.shrunk(s, max(left.w, l.width(s)*0.8))
		p.text(shrunk.fit(s, left.w), shrunk, 0, y, 0)
		y += 13 * v.unit
	}
	v.plateWords(p, lettering{size: 9 * v.unit, color: inks.Text}, 0, y+5*v.unit, 0)
	v.plate(p.crop(left.w, 0, p.h-v.headHeight(), 0), 51*v.unit, 29*v.unit)
}

// cautionStrip writes the caution at the foot; u is a point on A5.
func cautionStrip(p pen, u float64) {
	sign, height := 22*u, cautionHeight*u
	p.crop(0, 0, 0, p.h-height).outline(inks.Text, 1.2*u)
	mid := p.h - height/2
	warningSign(p, 8*u+sign/2, mid, sign)
	l := lettering{size: 10.5 * u, bold: true, color: inks.Text}
	for _, sentence := range caution() {
		l = l.shrunk(sentence, p.w-sign-24*u)
	}
	for i, sentence := range caution() {
		p.text(sentence, l, sign+16*u, mid+(float64(i)-0.5)*14*u+l.cap()/2, 0)
	}
}

// warningYellow is the ground of a warning sign: ISO 3864-1's yellow, as near as Okabe
// and Ito's orange comes to it.
var warningYellow = color.NRGBA{0xE6, 0x9F, 0x00, 0xFF}

// warningSign is the triangle with an exclamation mark of ISO 7010 W001.
func warningSign(p pen, x, y, size float64) {
	foot, tip := y+size*0.435, sketch.Pt{X: x, Y: y - size*0.435}
	triangle := []sketch.Pt{{X: x - size/2, Y: foot}, {X: x + size/2, Y: foot}, tip}
	p.Shape(warningYellow, triangle)
	p.stroke(inks.Text, size*0.073, nil, append(triangle, triangle[0], triangle[1]))
	p.text("!", lettering{size: size * 0.62, bold: true, color: inks.Text}, x, foot-size*0.14, 0.5)
}

// Where a row's parts stand, in shares of its width.
const (
	tempoEnd   = 0.205
	songStart  = 0.23
	songEnd    = 0.545
	moveEnd    = 0.685
	settingBox = 0.705
	settingEnd = 0.985
)

// table draws the rows under their heading.
func (v cardPage) table(p pen) {
	v.headRow(p)
	body := p.crop(0, 0, 0, columnHead*v.unit)
	height := min(body.h/float64(v.rows), 30*mm*v.unit)
	d := v.digits(body.w, height)
	for i, line := range v.lines {
		above := float64(i) * height
		v.row(body.crop(0, 0, body.h-above-height, above), line, d, i == 0)
	}
}

func (v cardPage) headRow(p pen) {
	l := lettering{size: 8.5 * v.unit, color: inks.Quiet}
	y := l.cap() + v.unit
	p.text(i18n.L("BPM"), l, p.w*tempoEnd, y, 1)
	p.text(v.column, l.shrunk(v.column, p.w*(songEnd-songStart)), p.w*songStart, y, 0)
	p.text(i18n.L("move"), l, p.w*moveEnd, y, 1)
	p.text(i18n.L("set to"), l, p.w*settingEnd, y, 1)
	under := (columnHead - 2) * v.unit
	p.line(inks.Text, 0.8*v.unit, 0, under, p.w, under)
}

// digits are the letterings of tempo, move and setting, the same on every row; a
// tempo with tenths is smaller.
type digits struct{ tempo, move, setting lettering }

// digits returns the largest ones with which every line fits a row.
func (v cardPage) digits(width, height float64) digits {
	d := digits{
		setting: lettering{size: height * settingShare, bold: true, color: inks.Text},
		move:    lettering{size: height * 0.55, bold: true, color: inks.Mark},
	}
	for _, line := range v.lines {
		d.setting = d.setting.shrunk(calib.SettingWords(line.setting), width*(settingEnd-settingBox-0.015))
		d.move = d.move.shrunk(moveWord(line.move), width*(moveEnd-songEnd-0.03))
	}
	d.tempo = lettering{size: min(max(d.setting.size*0.8, legible/capHeight), d.setting.size), color: inks.Text}
	return d
}

// row draws one line: tempo, song, the move from the line before, and the setting.
// The first of a page says where its move starts, since that is not in sight.
func (v cardPage) row(p pen, line cardLine, d digits, first bool) {
	base := (p.h + d.setting.cap()) / 2
	v.settingBox(p.crop(p.w*settingBox, 0, p.h*0.05, p.h*0.05), line.stands)
	p.line(inks.Quiet, 0.6*v.unit, 0, p.h, p.w, p.h)
	p.text(calib.SettingWords(line.setting), d.setting, p.w*settingEnd, base, 1)
	p.text(line.tempo, d.tempo.shrunk(line.tempo, p.w*tempoEnd), p.w*tempoEnd, base, 1)
	p.text(moveWord(line.move), d.move, p.w*moveEnd, base, 1)
	if first {
		from := i18n.F("from %s", calib.SettingWords(line.setting-line.move))
		l := lettering{size: min(p.h*0.2, 10*v.unit), color: inks.Quiet}.shrunk(from, p.w*(moveEnd-songEnd))
		p.text(from, l, p.w*moveEnd, base-d.move.cap()-l.size*0.35, 1)
	}
	v.song(p, line, p.w*songStart, p.w*(songEnd-songStart))
}

// settingBox is the field behind the setting: filled where it is verified, an outline where
// it is sure, two where it is on the edge, else one of dashes.
func (v cardPage) settingBox(p pen, stands loop.Standing) {
	switch dash := vg.Length(4 * v.unit); stands {
	case loop.Verified:
		p.Box(inks.Zone(), 0, 0, p.w, p.h)
	case loop.OnEdge:
		gap := 2.4 * v.unit
		p.crop(gap, gap, gap, gap).outline(inks.Quiet, 0.7*v.unit)
		fallthrough
	case loop.Sure:
		p.outline(inks.Quiet, 1.4*v.unit)
	default:
		p.outline(inks.Warn, 1.4*v.unit, dash, dash)
	}
}

// key says on a line what the boxes mean.
func (v cardPage) key(p pen) {
	l, side, x := lettering{size: 9 * v.unit, color: inks.Text}, 20*v.unit, 0.0
	words := []string{i18n.L("verified: played and tight"), i18n.L("sure, not verified there yet"), i18n.L("on the edge"), listenFirst()}
	l = l.shrunk(strings.Join(words, ""), p.w-8*side)
	for i, s := range words {
		v.settingBox(p.crop(x, p.w-x-side, p.h-9*v.unit, 0), []loop.Standing{loop.Verified, loop.Sure, loop.OnEdge, loop.Open}[i])
		p.text(s, l, x+side*1.3, 4.5*v.unit+l.cap()/2, 0)
		x += side*2 + l.width(s)
	}
}

func moveWord(steps int) string {
	if steps == 0 {
		return i18n.L("stay")
	}
	return calib.SettingWords(steps)
}

// song writes the song in bold, smaller or on two lines where it is long, and below it
// what else is known in small, as much as the row has room for.
func (v cardPage) song(p pen, line cardLine, x, width float64) {
	type written struct {
		text string
		lettering
		lead float64 // from one baseline to the next
	}
	var lines []written
	add := func(s string, l lettering, lead float64) {
		lines = append(lines, written{l.fit(s, width), l, l.size * lead})
	}
	height := p.h
	l := lettering{size: min(height*0.36, 15*v.unit), bold: true, color: inks.Text}
	l = l.shrunk(line.song, max(width-0.5, l.width(line.song)*0.65)) // a hair narrower, so that rounding breaks no line
	for _, word := range strings.Fields(line.song) {
		l = l.shrunk(word, max(width, l.width(word)*0.6))
	}
	name := l.wrap(line.song, width)
	if len(name) > 2 {
		name = []string{name[0], strings.Join(name[1:], " ")}
	}
	for _, s := range name {
		if s != "" {
			add(s, l, 1.1)
		}
	}
	for i, s := range line.details {
		l := lettering{size: min(height*0.21, 9.5*v.unit), color: inks.Quiet}
		if i == 0 {
			l.size, l.color = l.size*1.15, inks.Text
		}
		add(s, l.shrunk(s, max(width, l.width(s)*0.7)), 1.2)
	}
	taken := 0.0
	for i, one := range lines {
		if i > 0 && taken+one.lead > height*0.97 {
			lines = lines[:i]
			break
		}
		taken += one.lead
	}
	y := (p.h - taken) / 2
	for _, one := range lines {
		p.text(one.text, one.lettering, x, y+one.cap()*1.3, 0)
		y += one.lead
	}
}

// platePanel draws the index plate over the words about it.
func (v cardPage) platePanel(p pen) {
	radius, y := p.w/2-27*v.unit, p.h/2-26*v.unit
	v.plate(p, y, radius)
	v.plateWords(p, lettering{size: 9 * v.unit, color: inks.Text}, p.w/2, y+radius+46*v.unit, 0.5)
}

// plateWords say how many notches the plate has, and which way is plus.
func (v cardPage) plateWords(p pen, l lettering, x, y, align float64) {
	words := []string{i18n.L("index plate"), i18n.L("+ ahead: the voice sounds earlier"), i18n.L("− back: the voice sounds later")}
	if v.notches > 0 {
		words[0] = i18n.N(v.notches, "%d notches to a turn", "%d notches to a turn", v.notches)
	}
	for i, s := range words {
		l.bold = i == 0
		p.text(s, l, x, y+float64(i)*l.size*1.4, align)
	}
}

// plate draws the plate as the window's dial has it, with a dot at every setting, in the
// middle of the pen's width.
func (v cardPage) plate(p pen, y, radius float64) {
	u, x := v.unit, p.w/2
	plate := sketch.Plate{Notches: v.notches}
	plate.Draw(p.Pen, inks, x, y, radius, u*0.7)
	p.Ring(inks.Text, x, y, radius*0.14, 1.2*u)
	index := y - radius - 2*u
	p.Shape(inks.Text, []sketch.Pt{{X: x, Y: index}, {X: x - 4*u, Y: index - 8*u}, {X: x + 4*u, Y: index - 8*u}})
	p.text("0", lettering{size: 9 * u, bold: true, color: inks.Text}, x, index-10*u, 0.5)
	plate.Move(p.Pen, inks, x, y, radius*0.58, radius*0.07, -0.3*math.Pi, 0.32*math.Pi)
	p.text("+", lettering{size: radius * 0.36, bold: true, color: inks.Mark}, x, y-radius*0.28, 0.5)
	if v.notches > 0 {
		v.settingNotches(p, plate, x, y, radius)
	}
}

// settingNotches dots the notch of every setting and numbers those that have room.
func (v cardPage) settingNotches(p pen, plate sketch.Plate, x, y, radius float64) {
	u, room := v.unit, p.room()
	room.Mark(sketch.About(sketch.Pt{X: x, Y: y - radius - 10*u}, 14*u)) // or 46 beside the index' 0 reads as 460
	l := lettering{size: 9 * u, bold: true, color: inks.Text}
	for _, s := range v.settings() {
		sin, cos := math.Sincos(plate.Angle(float64(s % v.notches)))
		p.Disc(inks.Mark, x+sin*radius*0.82, y-cos*radius*0.82, radius*0.05)
		wide, high := l.width(calib.SettingWords(s))+2, l.cap()+2
		var corners []sketch.Pt
		half := (math.Abs(sin)*wide + math.Abs(cos)*high) / 2 // as seen from the plate
		for _, gap := range []float64{4 * u, 13 * u} {
			far := radius + gap + half
			at := sketch.Pt{X: x + sin*far - wide/2, Y: y - cos*far - high/2}
			corners = append(corners, at, sketch.Pt{X: at.X + math.Copysign(10*u, sin), Y: at.Y})
		}
		if r, ok := room.Place(wide, high, corners...); ok {
			p.text(calib.SettingWords(s), l, r.Min.X+1, r.Max.Y-1, 0)
		}
	}
}

// settings are the card's settings, each once, ascending.
func (v cardPage) settings() []int {
	var all []int
	for _, line := range v.lines {
		all = append(all, line.setting)
	}
	slices.Sort(all)
	return slices.Compact(all)
}
