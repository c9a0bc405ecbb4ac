package plotting

import (
	"image/color"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
)

// paint draws the page at its own size.
func (v cardPage) paint(p pen) {
	inner := p.crop(margin, margin, margin, margin)
	cautionStrip(inner, v.unit)
	body := inner.crop(0, 0, foot*v.unit, v.headHeight())
	switch {
	case v.upright:
		v.uprightHeading(inner)
		v.table(body)
	case len(v.lines) == 0:
		v.heading(inner)
		body.sketch().Sentence(inks.Quiet, inks.Paper, float64(20*v.unit),
			i18n.L("No settings yet: tune one tempo of the set list, and its setting is printed here."))
	default:
		panel := 54 * mm * v.unit
		v.heading(inner)
		v.platePanel(body.crop(body.Size().X-panel, 0, 0, 0))
		v.table(body.crop(0, panel+4*mm*v.unit, 0, 0))
	}
}

// title writes the machine's name on top.
func (v cardPage) title(p pen) {
	l := lettering{size: 26 * v.unit, bold: true, color: inks.Text}
	l = l.shrunk(v.machine, max(p.Size().X, l.width(v.machine)*0.6))
	p.text(l.fit(v.machine, p.Size().X), l, p.Min.X, p.Max.Y-18*v.unit, 0)
}

// heading writes the machine on a line, and what else the card is about on another.
func (v cardPage) heading(p pen) {
	v.title(p)
	l := lettering{size: 11 * v.unit, color: inks.Quiet}
	p.text(l.fit(joined(v.about...), p.Size().X), l, p.Min.X, p.Max.Y-35*v.unit, 0)
	y := p.Max.Y - 44*v.unit
	p.line(inks.Text, 1.6*v.unit, p.Min.X, y, p.Max.X, y)
}

// uprightHeading writes the same in lines left of the plate.
func (v cardPage) uprightHeading(p pen) {
	const plateWidth = 112
	left := p.crop(0, plateWidth*v.unit, 0, 0)
	v.title(left)
	l := lettering{size: 10 * v.unit, color: inks.Quiet}
	y := p.Max.Y - 35*v.unit
	for _, s := range v.about {
		shrunk := l.shrunk(s, max(left.Size().X, l.width(s)*0.8))
		p.text(shrunk.fit(s, left.Size().X), shrunk, p.Min.X, y, 0)
		y -= 13 * v.unit
	}
	y -= 5 * v.unit
	v.plateWords(p, lettering{size: 9 * v.unit, color: inks.Text}, p.Min.X, y, 0)
	at := vg.Point{X: p.Max.X - plateWidth*v.unit/2, Y: p.Max.Y - 51*v.unit}
	v.plate(p.crop(p.Size().X-plateWidth*v.unit, 0, p.Size().Y-v.headHeight(), 0), at, 29*v.unit)
}

// cautionStrip writes the caution at the foot; u is a point on A5.
func cautionStrip(p pen, u vg.Length) {
	sign, height := 22*u, cautionHeight*u
	p.StrokeLines(draw.LineStyle{Color: inks.Text, Width: 1.2 * u}, corners(p.crop(0, 0, 0, p.Size().Y-height).Rectangle))
	mid := p.Min.Y + height/2
	warningSign(p, vg.Point{X: p.Min.X + 8*u + sign/2, Y: mid}, sign)
	l := lettering{size: 10.5 * u, bold: true, color: inks.Text}
	for _, sentence := range caution() {
		l = l.shrunk(sentence, p.Size().X-sign-24*u)
	}
	for i, sentence := range caution() {
		y := mid + (0.5-vg.Length(i))*14*u - l.cap()/2
		p.text(sentence, l, p.Min.X+sign+16*u, y, 0)
	}
}

// warningYellow is the ground of a warning sign: ISO 3864-1's yellow, as near as Okabe
// and Ito's orange comes to it.
var warningYellow = color.NRGBA{0xE6, 0x9F, 0x00, 0xFF}

// warningSign is the triangle with an exclamation mark of ISO 7010 W001.
func warningSign(p pen, at vg.Point, size vg.Length) {
	h := size * 0.87
	triangle := []vg.Point{{X: at.X - size/2, Y: at.Y - h/2}, {X: at.X + size/2, Y: at.Y - h/2}, {X: at.X, Y: at.Y + h/2}}
	p.FillPolygon(warningYellow, triangle)
	p.StrokeLines(draw.LineStyle{Color: inks.Text, Width: size * 0.073}, append(triangle, triangle[0], triangle[1]))
	l := lettering{size: size * 0.62, bold: true, color: inks.Text}
	p.text("!", l, at.X, at.Y-h/2+size*0.14, 0.5)
}

func corners(r vg.Rectangle) []vg.Point {
	return []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min}
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
	height := min(body.Size().Y/vg.Length(v.rows), 30*mm*v.unit)
	d := v.digits(body.Size().X, height)
	for i, line := range v.lines {
		above := vg.Length(i) * height
		v.row(body.crop(0, 0, body.Size().Y-above-height, above), line, d, i == 0)
	}
}

func (v cardPage) headRow(p pen) {
	l := lettering{size: 8.5 * v.unit, color: inks.Quiet}
	y := p.Max.Y - l.cap() - v.unit
	at := func(share vg.Length) vg.Length { return p.Min.X + p.Size().X*share }
	p.text(i18n.L("BPM"), l, at(tempoEnd), y, 1)
	p.text(v.column, l, at(songStart), y, 0)
	p.text(i18n.L("move"), l, at(moveEnd), y, 1)
	p.text(i18n.L("set to"), l, at(settingEnd), y, 1)
	under := p.Max.Y - (columnHead-2)*v.unit
	p.line(inks.Text, 0.8*v.unit, p.Min.X, under, p.Max.X, under)
}

// digits are the letterings of tempo, move and setting, the same on every row; a
// tempo with tenths is smaller.
type digits struct{ tempo, move, setting lettering }

// digits returns the largest ones with which every line fits a row.
func (v cardPage) digits(width, height vg.Length) digits {
	d := digits{
		setting: lettering{size: height * settingShare, bold: true, color: inks.Text},
		move:    lettering{size: height * 0.55, bold: true, color: inks.Mark},
	}
	for _, line := range v.lines {
		d.setting = d.setting.shrunk(signed(line.setting), width*(settingEnd-settingBox-0.015))
		d.move = d.move.shrunk(moveWord(line.move), width*(moveEnd-songEnd-0.03))
	}
	d.tempo = lettering{size: min(max(d.setting.size*0.8, legible/capHeight), d.setting.size), color: inks.Text}
	return d
}

// row draws one line: tempo, song, the move from the line before, and the setting.
// The first of a page says where its move starts, since that is not in sight.
func (v cardPage) row(p pen, line cardLine, d digits, first bool) {
	w, h := p.Size().X, p.Size().Y
	base := p.Min.Y + h/2 - d.setting.cap()/2
	at := func(share vg.Length) vg.Length { return p.Min.X + w*share }
	v.settingBox(p.crop(w*settingBox, 0, h*0.05, h*0.05), line.verified)
	p.line(inks.Quiet, 0.6*v.unit, p.Min.X, p.Min.Y, p.Max.X, p.Min.Y)
	p.text(signed(line.setting), d.setting, at(settingEnd), base, 1)
	p.text(line.tempo, d.tempo.shrunk(line.tempo, w*tempoEnd), at(tempoEnd), base, 1)
	p.text(moveWord(line.move), d.move, at(moveEnd), base, 1)
	if first {
		from := i18n.F("from %s", signed(line.setting-line.move))
		l := lettering{size: min(h*0.2, 10*v.unit), color: inks.Quiet}.shrunk(from, w*(moveEnd-songEnd))
		p.text(from, l, at(moveEnd), base+d.move.cap()+l.size*0.35, 1)
	}
	v.song(p, line, at(songStart), w*(songEnd-songStart))
}

// settingBox is the field behind the setting: filled where it is verified, else
// an outline of dashes.
func (v cardPage) settingBox(p pen, verified bool) {
	if verified {
		p.FillPolygon(inks.Zone(), corners(p.Rectangle))
		return
	}
	dash := 4 * v.unit
	p.StrokeLines(draw.LineStyle{Color: inks.Warn, Width: 1.4 * v.unit, Dashes: []vg.Length{dash, dash}}, corners(p.Rectangle))
}

func moveWord(steps int) string {
	if steps == 0 {
		return i18n.L("stay")
	}
	return signed(steps)
}

// song writes the song in bold, smaller or on two lines where it is long, and below it
// what else is known in small, as much as the row has room for.
func (v cardPage) song(p pen, line cardLine, x, width vg.Length) {
	type written struct {
		text string
		lettering
		lead vg.Length // from one baseline to the next
	}
	var lines []written
	add := func(s string, l lettering, lead vg.Length) {
		lines = append(lines, written{l.fit(s, width), l, l.size * lead})
	}
	height := p.Size().Y
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
	taken := vg.Length(0)
	for i, one := range lines {
		if i > 0 && taken+one.lead > height*0.97 {
			lines = lines[:i]
			break
		}
		taken += one.lead
	}
	y := p.Center().Y + taken/2
	for _, one := range lines {
		p.text(one.text, one.lettering, x, y-one.cap()*1.3, 0)
		y -= one.lead
	}
}
