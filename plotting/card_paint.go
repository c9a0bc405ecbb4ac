package plotting

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

const emptyCard = "No settings yet: settle one tempo of the set list, and its setting is printed here."

const (
	settingShare  = 0.90 // font size of the setting in row heights
	settingWidth  = 0.30 // share of a row's width for the setting
	widestSetting = 1.75 // width of "+88" in font sizes
)

// paint draws the card on a page of its own size.
func (v *cardView) paint(p pen) {
	inner := p.crop(9*mm, 9*mm, 8*mm, 8*mm)
	inner = inner.crop(0, 0, v.cautionStrip(inner), v.heading(inner))
	if len(v.lines) == 0 {
		v.invitation(inner)
		return
	}
	if v.upright {
		strip := pen{draw.Crop(inner.Canvas, 0, 0, 0, -(inner.Size().Y - 34*mm))}
		v.platePanel(strip, true)
		v.rows(inner.crop(0, 0, 37*mm, 0))
		return
	}
	panel := 54 * mm
	v.platePanel(pen{draw.Crop(inner.Canvas, inner.Size().X-panel, 0, 0, 0)}, false)
	v.rows(inner.crop(0, panel+4*mm, 0, 0))
}

// heading writes machine, session and date, and returns the height it took.
func (v *cardView) heading(p pen) vg.Length {
	title := lettering{size: 26, bold: true, color: v.theme.Ink}.shrunk(v.machine, p.Size().X)
	under := lettering{size: 11, color: v.theme.Muted}
	y := p.Max.Y - title.cap()
	p.text(title.fit(v.machine, p.Size().X), title, p.Min.X, y, 0)
	y -= 17
	p.text(under.fit(v.under, p.Size().X), under, p.Min.X, y, 0)
	y -= 8
	p.line(v.theme.Ink, 1.6, p.Min.X, y, p.Max.X, y)
	return p.Max.Y - y + 2*mm
}

// cautionStrip writes the caution at the foot, and returns the height it took.
func (v *cardView) cautionStrip(p pen) vg.Length {
	const sign = 22
	l := lettering{size: 10.5, bold: true, color: v.theme.Ink}
	var lines []string
	for _, sentence := range caution {
		lines = append(lines, l.wrap(sentence, p.Size().X-sign-22)...)
	}
	height := max(vg.Length(len(lines))*14+10, sign+10)
	p.StrokeLines(draw.LineStyle{Color: v.theme.Ink, Width: 1.2}, corners(vg.Rectangle{
		Min: p.Min, Max: vg.Point{X: p.Max.X, Y: p.Min.Y + height},
	}))
	mid := p.Min.Y + height/2
	warningSign(p, v.theme, vg.Point{X: p.Min.X + 8 + sign/2, Y: mid}, sign)
	y := mid + vg.Length(len(lines))*7 - 7 - l.cap()/2
	for _, line := range lines {
		p.text(line, l, p.Min.X+sign+16, y, 0)
		y -= 14
	}
	return height + 4*mm
}

// warningSign is the triangle with an exclamation mark of ISO 7010 W001.
func warningSign(p pen, t Theme, at vg.Point, size vg.Length) {
	h := size * 0.87
	triangle := []vg.Point{{X: at.X - size/2, Y: at.Y - h/2}, {X: at.X + size/2, Y: at.Y - h/2}, {X: at.X, Y: at.Y + h/2}}
	p.FillPolygon(orange, triangle)
	p.StrokeLines(draw.LineStyle{Color: t.Ink, Width: 1.6}, append(triangle, triangle[0], triangle[1]))
	l := lettering{size: size * 0.62, bold: true, color: t.Ink}
	p.text("!", l, at.X, at.Y-h/2+size*0.14, 0.5)
}

func corners(r vg.Rectangle) []vg.Point {
	return []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min}
}

func (v *cardView) invitation(p pen) {
	l := lettering{size: 20, color: v.theme.Muted}
	y := p.Center().Y + l.size
	for _, line := range l.balanced(emptyCard, p.Size().X*0.8) {
		p.text(line, l, p.Center().X, y, 0.5)
		y -= l.size * 1.4
	}
}

// rows lays the lines out in columns of equal rows, headed once a column.
func (v *cardView) rows(p pen) {
	const head = 13
	body := p.crop(0, 0, 0, head)
	size := body.Size()
	n := columns(len(v.lines), float64(size.X), float64(size.Y))
	perColumn := (len(v.lines) + n - 1) / n
	height := min(size.Y/vg.Length(perColumn), 26*mm)
	gap := min(5*mm, size.X/vg.Length(n)/8)
	width := (size.X + gap) / vg.Length(n)
	digits := v.digits(width-gap, height)
	for column := range n {
		x := body.Min.X + vg.Length(column)*width
		v.columnHead(p, x, width-gap)
		for row := range perColumn {
			i := column*perColumn + row
			if i >= len(v.lines) {
				return
			}
			top := body.Max.Y - vg.Length(row)*height
			v.row(pen{draw.Canvas{Canvas: p.Canvas.Canvas, Rectangle: vg.Rectangle{
				Min: vg.Point{X: x, Y: top - height}, Max: vg.Point{X: x + width - gap, Y: top},
			}}}, v.lines[i], digits)
		}
	}
}

// Where a row's parts stand, in shares of its width.
const (
	tempoEnd  = 0.22
	songStart = 0.25
	songEnd   = 0.56
	moveEnd   = 0.69
)

func (v *cardView) columnHead(p pen, x, width vg.Length) {
	l := lettering{size: min(8.5, width*0.04), color: v.theme.Muted}
	y := p.Max.Y - l.cap()
	p.text("BPM", l, x+width*tempoEnd, y, 1)
	p.text("song", l, x+width*songStart, y, 0)
	p.text("move", l, x+width*moveEnd, y, 1)
	p.text("set to", l, x+width-width*0.02, y, 1)
	p.line(v.theme.Ink, 0.8, x, p.Max.Y-11, x+width, p.Max.Y-11)
}

// digits are the letterings of tempo and setting, the same on every row.
type digits struct{ tempo, setting lettering }

// digits returns the largest ones with which every line fits a row.
func (v *cardView) digits(width, height vg.Length) digits {
	d := digits{setting: lettering{size: height * settingShare, bold: true, color: v.theme.Ink}}
	for _, line := range v.lines {
		d.setting = d.setting.shrunk(signed(line.setting), width*(1-moveEnd-0.05))
	}
	d.tempo = lettering{size: d.setting.size * 0.78, color: v.theme.Ink}
	for _, line := range v.lines {
		d.tempo = d.tempo.shrunk(line.tempo, width*tempoEnd)
	}
	return d
}

// row draws one line: tempo, song, the move from the line before, and the setting.
func (v *cardView) row(p pen, line cardLine, d digits) {
	w, h := p.Size().X, p.Size().Y
	mid := p.Min.Y + h/2
	at := func(share vg.Length) vg.Length { return p.Min.X + w*share }
	p.fillRect(v.theme.Tolerance, at(moveEnd+0.02), p.Min.Y+h*0.05, p.Max.X, p.Max.Y-h*0.05)
	p.line(v.theme.Law, min(0.6, h*0.03), p.Min.X, p.Min.Y, p.Max.X, p.Min.Y)
	p.text(signed(line.setting), d.setting, at(0.98), mid-d.setting.cap()/2, 1)
	p.text(line.tempo, d.tempo, at(tempoEnd), mid-d.setting.cap()/2, 1)

	move := lettering{size: min(h*0.42, 20), bold: true, color: v.theme.Current}
	word := moveWord(line.move)
	move = move.shrunk(word, w*(moveEnd-songEnd-0.01))
	p.text(word, move, at(moveEnd), mid-move.cap()/2, 1)
	v.song(p, line, at(songStart), w*(songEnd-songStart))
}

func moveWord(steps int) string {
	if steps == 0 {
		return "stay"
	}
	return signed(steps)
}

// song writes the song in bold and, below it, what else is known in small.
func (v *cardView) song(p pen, line cardLine, x, width vg.Length) {
	h, mid := p.Size().Y, p.Min.Y+p.Size().Y/2
	name := lettering{size: min(h*0.32, 14), bold: true, color: v.theme.Ink}
	detail := lettering{size: min(h*0.20, 8), color: v.theme.Muted}
	name = name.shrunk(line.song, max(width, name.width(line.song)*0.8))
	for _, word := range strings.Fields(line.song) {
		name = name.shrunk(word, max(width, name.width(word)*0.6))
	}
	names := name.upTo(2, line.song, width)
	details := line.details
	for len(details) > 0 && rowsHeight(name, names, detail, details) > h*0.96 {
		details = details[:len(details)-1]
	}
	y := mid + rowsHeight(name, names, detail, details)/2
	for _, s := range names {
		y -= name.size * 1.1
		p.text(s, name, x, y+name.size*0.2, 0)
	}
	for _, s := range details {
		y -= detail.size * 1.25
		d := detail.shrunk(s, max(width, detail.width(s)*0.7))
		p.text(d.fit(s, width), d, x, y+detail.size*0.2, 0)
	}
}

func rowsHeight(a lettering, as []string, b lettering, bs []string) vg.Length {
	return vg.Length(len(as))*a.size*1.1 + vg.Length(len(bs))*b.size*1.25
}

// upTo wraps s into at most n lines that fit the width, the last one shortened.
func (l lettering) upTo(n int, s string, width vg.Length) []string {
	if s == "" {
		return nil
	}
	lines := l.wrap(s, width)
	if len(lines) > n {
		lines = append(lines[:n-1], lines[n-1]+" "+lines[n])
	}
	for i := range lines {
		lines[i] = l.fit(lines[i], width)
	}
	return lines
}

// platePanel draws the index plate with the settings' notches, and says which
// way is plus. Beside puts the words to the right of the plate, else below.
func (v *cardView) platePanel(p pen, beside bool) {
	words := []string{"index plate"}
	if v.notches > 0 {
		words = []string{compact(float64(v.notches)) + " notches to a turn"}
	}
	words = append(words, "+ ahead: the voice sounds earlier", minus+" back: the voice sounds later")
	l := lettering{size: 9, color: v.theme.Ink}
	var at vg.Point
	var radius, x, y, align vg.Length
	if beside {
		radius = p.Size().Y/2 - 20
		at = vg.Point{X: p.Min.X + p.Size().X*0.27, Y: p.Center().Y - 4}
		x, y, align = p.Min.X+p.Size().X*0.54, p.Center().Y+18, 0
	} else {
		radius = p.Size().X/2 - 27
		at = vg.Point{X: p.Center().X, Y: p.Center().Y + 26}
		x, y, align = p.Center().X, at.Y-radius-46, 0.5
	}
	v.plate(p, at, radius)
	for i, s := range words {
		l.bold = i == 0
		p.text(s, l, x, y, align)
		y -= 13
	}
}

// plate draws the plate as the window's dial does: 0 on top, ahead clockwise, a
// dot at every setting.
func (v *cardView) plate(p pen, at vg.Point, radius vg.Length) {
	t := v.theme
	rim := v.rim(at, radius)
	p.FillPolygon(t.Tolerance, rim)
	p.StrokeLines(draw.LineStyle{Color: t.Ink, Width: 1.2}, append(rim, rim[0], rim[1]))
	p.ring(t.Ink, 1.2, at, radius*0.14)
	index := at.Add(vg.Point{Y: radius + 2})
	p.FillPolygon(t.Ink, []vg.Point{index, index.Add(vg.Point{X: -6, Y: 12}), index.Add(vg.Point{X: 6, Y: 12})})
	p.text("0", lettering{size: 9, bold: true, color: t.Ink}, index.X, index.Y+15, 0.5)
	v.ahead(p, at, radius*0.58)
	v.settingNotches(p, at, radius)
}

// rim is the outline of the plate: round, with a notch at every step, or with
// every second, fourth and so on where they would run together.
func (v *cardView) rim(at vg.Point, radius vg.Length) []vg.Point {
	n := v.notches
	for n > 96 {
		n = (n + 1) / 2
	}
	n = max(n, 1)    // an unknown plate is drawn without notches
	const points = 8 // of the arc between two notches
	share := 2 * math.Pi / float64(n)
	mouth := 0.0
	if v.notches > 0 {
		mouth = min(share*0.5, 0.14)
	}
	var rim []vg.Point
	for i := range n {
		angle := math.Pi/2 + share*float64(i)
		if v.notches > 0 {
			rim = append(rim, at.Add(polar(radius*0.9, angle)))
		}
		arc := share - mouth
		between := max(points, int(arc*16))
		for j := range between + 1 {
			rim = append(rim, at.Add(polar(radius, angle+mouth/2+arc*float64(j)/float64(between))))
		}
	}
	return rim
}

// ahead is a clockwise arrow with a plus.
func (v *cardView) ahead(p pen, at vg.Point, radius vg.Length) {
	const from, to = 0.80 * math.Pi, 0.24 * math.Pi
	var arc []vg.Point
	for i := range 25 {
		arc = append(arc, at.Add(polar(radius, from+(to-from)*float64(i)/24)))
	}
	c := v.theme.Current
	p.StrokeLines(draw.LineStyle{Color: c, Width: 3}, arc)
	p.FillPolygon(c, []vg.Point{
		at.Add(polar(radius-7, to)), at.Add(polar(radius+7, to)), at.Add(polar(radius, to-11/float64(radius))),
	})
	l := lettering{size: radius * 0.5, bold: true, color: c}
	p.text("+", l, at.X, at.Y+radius*0.5, 0.5)
}

// settingNotches dots the notch of every setting and numbers those that have room.
func (v *cardView) settingNotches(p pen, at vg.Point, radius vg.Length) {
	if v.notches == 0 {
		return
	}
	room := placer{area: p.Rectangle}
	room.mark(centred(at.Add(vg.Point{Y: radius + 14}), 14))
	l := lettering{size: 9, bold: true, color: v.theme.Ink}
	for _, s := range v.settings() {
		angle := math.Pi/2 - 2*math.Pi*float64(s%v.notches)/float64(v.notches)
		p.disc(v.theme.Take, at.Add(polar(radius*0.82, angle)), 2.2)
		size := vg.Point{X: l.width(signed(s)) + 2, Y: l.cap() + 2}
		var corners []vg.Point
		for _, out := range []vg.Length{12, 23} {
			corners = append(corners, at.Add(polar(radius+out, angle)).Sub(size.Scale(0.5)))
		}
		if r, ok := room.place(size, corners); ok {
			p.text(signed(s), l, r.Min.X+1, r.Min.Y+1, 0)
		}
	}
}

// settings are the card's settings, each once, ascending.
func (v *cardView) settings() []int {
	var all []int
	for _, line := range v.lines {
		all = append(all, line.setting)
	}
	slices.Sort(all)
	return slices.Compact(all)
}
