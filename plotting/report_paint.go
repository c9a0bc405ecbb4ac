package plotting

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// What a report gives its parts, in points on A5.
const (
	leastTrace = 160.0
	leastFan   = 100.0
	mostTrace  = 250.0 // more would only stretch it
	fanShare   = 0.615 // of the width; the rest says what makes the lag unsure

	plainWords = 8.2 // size of the letters, unless there is much to say
	leastWords = 5.2 // 1.8 mm high on paper, the least that is read at arm's length
)

// letters are the sizes of a report's words: larger paper has more room than it
// needs for larger letters.
func (v *reportView) letters() vg.Length { return plainWords * (0.5 + v.unit/2) }

func (v *reportView) paint(p pen) {
	inner := p.crop(margin, margin, margin, margin)
	size := v.letters()
	top := v.heading(inner, size)
	body := inner.crop(0, 0, v.footing(inner, size), top)
	room := body.Size().Y - (leastTrace+leastFan)*v.unit
	words := v.shrinkToFit(size, body.Size().X, room)
	text := v.words(body, words, room)
	drawn := body.crop(0, 0, text, 0)
	trace := min((drawn.Size().Y)*leastTrace/(leastTrace+leastFan), mostTrace*v.unit)
	v.pictures(drawn, trace, size)
}

// heading writes machine, take and time, the lag in large letters and the facts,
// and returns the room they took.
func (v *reportView) heading(p pen, size vg.Length) vg.Length {
	title := lettering{size: size * 2, bold: true, color: v.theme.Text}
	note := lettering{size: size, color: v.theme.Quiet}
	y := p.Max.Y - title.cap()
	p.text(title.fit(v.title, p.Size().X), title, p.Min.X, y, 0)
	y -= size * 1.6
	p.text(note.fit(v.about, p.Size().X), note, p.Min.X, y, 0)
	y -= size * 0.7
	p.line(v.theme.Text, 1.2*v.unit, p.Min.X, y, p.Max.X, y)

	lag := lettering{size: size * 2.3, bold: true, color: v.verdict}
	y -= size*0.7 + lag.cap()
	p.text(lag.fit(v.lag, p.Size().X), lag, p.Min.X, y, 0)
	beside := p.Min.X + lag.width(v.lag) + size
	certain := lettering{size: size * 1.1, color: v.theme.Text}.shrunk(v.interval, p.Max.X-beside)
	p.text(v.interval, certain, beside, y, 0)
	y = v.table(p, size, y-size*1.9)
	return p.Max.Y - y
}

// table writes the facts in two columns from a baseline on, and returns where
// they end.
func (v *reportView) table(p pen, size, y vg.Length) vg.Length {
	name := lettering{size: size, color: v.theme.Quiet}
	words := lettering{size: size, bold: true, color: v.theme.Text}
	label := vg.Length(0)
	for _, f := range v.facts {
		label = max(label, name.width(f.what)+size)
	}
	for i, f := range v.facts {
		x := p.Min.X
		if i%2 == 1 {
			x += p.Size().X / 2
		}
		p.text(f.what, name, x, y, 0)
		p.text(words.fit(f.words, p.Size().X/2-label-size/2), words, x+label, y, 0)
		if i%2 == 1 || i == len(v.facts)-1 {
			y -= size * 1.45
		}
	}
	return y + size*0.6
}

// footing writes the caution, where a move is advised, and whence the take came,
// and returns the room they took.
func (v *reportView) footing(p pen, size vg.Length) vg.Length {
	l := lettering{size: size * 0.85, color: v.theme.Quiet}
	p.text(l.fit(v.foot, p.Size().X), l, p.Min.X, p.Min.Y+l.size*0.25, 0)
	taken := l.size * 1.6
	if v.caution {
		u := v.unit * 0.72
		cautionStrip(p.crop(0, 0, taken, 0), v.theme, u)
		taken += cautionHeight*u + size*0.5
	}
	return taken
}

// pictures draws the mirror trace above the hit fan and what makes the lag unsure.
func (v *reportView) pictures(p pen, trace, size vg.Length) {
	v.framed(p.crop(0, 0, p.Size().Y-trace, 0), v.picture.paint)
	lower := p.crop(0, 0, 0, trace+size*0.5)
	fan := lower.crop(0, lower.Size().X*(1-fanShare), 0, 0)
	v.framed(fan, v.fan.paint(v.theme))
	v.unsure(lower.crop(lower.Size().X*fanShare+size, 0, 0, 0), size*0.92)
}

// framed draws a figure in a thin frame.
func (v *reportView) framed(p pen, paint func(pen)) {
	p.StrokeLines(draw.LineStyle{Color: v.theme.Grid, Width: 1}, corners(p.Rectangle))
	paint(p)
}

// unsure shows what the lag's uncertainty is made of, a bar for each part as long
// as its share.
func (v *reportView) unsure(p pen, size vg.Length) {
	head := lettering{size: size, bold: true, color: v.theme.Text}
	l := lettering{size: size, color: v.theme.Text}
	muted := lettering{size: size, color: v.theme.Quiet}
	y := p.Max.Y - head.cap()
	for _, line := range head.wrap(i18n.L("What makes it unsure"), p.Size().X) {
		p.text(line, head, p.Min.X, y, 0)
		y -= size * 1.3
	}
	b := v.reading.Budget
	if !b.Known() || !finite(b.CombinedMS) || v.reading.Used() < calib.MinPairs {
		paragraph(p, muted, i18n.L("Not known: too few pairs."), y)
		return
	}
	terms := b.Terms()
	y -= size * 0.4
	each := min((y-p.Min.Y)/(vg.Length(len(terms))+0.3), size*2.4)
	for _, term := range terms {
		value := i18n.F("%s ms", decimal(term.MS, 2))
		p.text(value, muted, p.Max.X, y, 1)
		p.text(l.fit(term.What, p.Size().X-muted.width(value)-size*0.4), l, p.Min.X, y, 0)
		bar := y - size*0.62
		p.fillRect(v.theme.Grid, p.Min.X, bar, p.Max.X, bar+size*0.3)
		p.fillRect(v.theme.Mark, p.Min.X, bar, p.Min.X+p.Size().X*vg.Length(term.Share), bar+size*0.3)
		y -= each
	}
	all := i18n.F("together %s ms", decimal(b.CombinedMS, 2))
	p.text(all, head.shrunk(all, p.Size().X), p.Max.X, y, 1)
	most := b.Main()
	paragraph(p, muted, i18n.F("Mostly %s; made smaller by %s.", most.What, most.Shrink), y-size*1.8)
}

// paragraph writes words in lines from a baseline on, where all of it has room.
func paragraph(p pen, l lettering, words string, y vg.Length) {
	lines := l.wrap(words, p.Size().X)
	if y-vg.Length(len(lines)-1)*l.size*1.3 < p.Min.Y {
		return
	}
	for _, line := range lines {
		p.text(line, l, p.Min.X, y, 0)
		y -= l.size * 1.3
	}
}

// wordLines are the sections broken into lines: a head hangs left of its lines.
type wordLine struct {
	head, words string
	strong      bool
}

func (v *reportView) wordLines(size, width vg.Length) []wordLine {
	l := lettering{size: size}
	bold := lettering{size: size * 1.15, bold: true}
	width -= v.hang(size)
	var lines []wordLine
	for _, s := range v.sections {
		first := len(lines)
		if s.strong != "" {
			for _, line := range bold.wrap(s.strong, width) {
				lines = append(lines, wordLine{words: line, strong: true})
			}
		}
		for _, paragraph := range s.lines {
			for _, line := range l.wrap(paragraph, width) {
				lines = append(lines, wordLine{words: line})
			}
		}
		if len(lines) > first {
			lines[first].head = s.head
		}
	}
	return lines
}

// hang is how far the sections' lines stand in.
func (v *reportView) hang(size vg.Length) vg.Length {
	widest := vg.Length(0)
	for _, s := range v.sections {
		widest = max(widest, lettering{size: size, bold: true}.width(s.head))
	}
	return widest + size
}

const wordLead = 1.36 // from line to line, in sizes

// shrinkToFit returns the size at which all sections have room, or the least.
func (v *reportView) shrinkToFit(size, width, room vg.Length) vg.Length {
	least := leastWords * (0.5 + v.unit/2)
	for size > least && v.wordsHeight(len(v.wordLines(size, width)), size) > room {
		size *= 0.95
	}
	return max(size, least)
}

func (v *reportView) wordsHeight(lines int, size vg.Length) vg.Length {
	return vg.Length(lines)*size*wordLead + vg.Length(len(v.sections))*size*0.35 + size*0.6
}

// words writes the sections at the foot of the page and returns the room they
// took. What has no room is cut off.
func (v *reportView) words(p pen, size, room vg.Length) vg.Length {
	lines := v.wordLines(size, p.Size().X)
	for len(lines) > 1 && v.wordsHeight(len(lines), size) > room {
		lines = lines[:len(lines)-1]
		if v.wordsHeight(len(lines), size) <= room {
			lines[len(lines)-1].words += " …"
		}
	}
	height := v.wordsHeight(len(lines), size)
	y := p.Min.Y + height - size*0.6
	for _, line := range lines {
		if line.head != "" {
			y -= size * 0.35
			p.text(line.head, lettering{size: size, bold: true, color: v.theme.Quiet}, p.Min.X, y-size*capHeight, 0)
		}
		l := lettering{size: size, color: v.theme.Text}
		if line.strong {
			l.bold, l.size = true, size*1.15
		}
		p.text(l.fit(line.words, p.Size().X-v.hang(size)), l, p.Min.X+v.hang(size), y-size*capHeight, 0)
		y -= size * wordLead
	}
	return height
}
