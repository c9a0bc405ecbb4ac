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
func (v *reportPage) letters() vg.Length { return plainWords * (0.5 + v.unit/2) }

func (v *reportPage) paint(p pen) {
	inner := p.crop(margin, margin, margin, margin)
	size := v.letters()
	top := v.heading(inner, size)
	body := inner.crop(0, 0, v.footing(inner, size), top)
	text := v.words(body, body.Size().Y-(leastTrace+leastFan)*v.unit)
	drawn := body.crop(0, 0, text, 0)
	v.pictures(drawn, min(drawn.Size().Y*leastTrace/(leastTrace+leastFan), mostTrace*v.unit), size)
}

// heading writes machine, take and time, the lag in large letters and the facts,
// and returns the room they took.
func (v *reportPage) heading(p pen, size vg.Length) vg.Length {
	title := lettering{size: size * 2, bold: true, color: inks.Text}
	note := lettering{size: size, color: inks.Quiet}
	y := p.Max.Y - title.cap()
	p.text(title.fit(clean(v.Machine), p.Size().X), title, p.Min.X, y, 0)
	y -= size * 1.6
	p.text(note.fit(joined(i18n.F("take %d", v.Take), moment(v.At)), p.Size().X), note, p.Min.X, y, 0)
	y -= size * 0.7
	p.line(inks.Text, 1.2*v.unit, p.Min.X, y, p.Max.X, y)

	words, ink := v.lagWords()
	lag := lettering{size: size * 2.3, bold: true, color: ink}
	y -= size*0.7 + lag.cap()
	p.text(lag.fit(words, p.Size().X), lag, p.Min.X, y, 0)
	beside, interval := p.Min.X+lag.width(words)+size, v.intervalWords()
	p.text(interval, lettering{size: size * 1.1, color: inks.Text}.shrunk(interval, p.Max.X-beside), beside, y, 0)
	return p.Max.Y - v.table(p, size, y-size*1.9)
}

// table writes the facts in two columns from a baseline on, and returns where
// they end.
func (v *reportPage) table(p pen, size, y vg.Length) vg.Length {
	name := lettering{size: size, color: inks.Quiet}
	words := lettering{size: size, bold: true, color: inks.Text}
	label := vg.Length(0)
	for _, f := range v.facts() {
		label = max(label, name.width(f.what)+size)
	}
	for i, f := range v.facts() {
		x := p.Min.X
		if i%2 == 1 {
			x += p.Size().X / 2
		}
		p.text(f.what, name, x, y, 0)
		p.text(words.fit(f.words, p.Size().X/2-label-size/2), words, x+label, y, 0)
		if i%2 == 1 || i == len(v.facts())-1 {
			y -= size * 1.45
		}
	}
	return y + size*0.6
}

// footing writes the caution, where a move is advised, and whence the take came,
// and returns the room they took.
func (v *reportPage) footing(p pen, size vg.Length) vg.Length {
	l := lettering{size: size * 0.85, color: inks.Quiet}
	p.text(l.fit(clean(v.Source), p.Size().X), l, p.Min.X, p.Min.Y+l.size*0.25, 0)
	taken := l.size * 1.6
	if v.Reach {
		u := v.unit * 0.72
		cautionStrip(p.crop(0, 0, taken, 0), u)
		taken += cautionHeight*u + size*0.5
	}
	return taken
}

// pictures draws the mirror trace above the hit fan and what makes the lag unsure.
func (v *reportPage) pictures(p pen, trace, size vg.Length) {
	v.framed(p.crop(0, 0, p.Size().Y-trace, 0), v.picture.paint)
	lower := p.crop(0, 0, 0, trace+size*0.5)
	fan := lower.crop(0, lower.Size().X*(1-fanShare), 0, 0)
	v.framed(fan, v.fan.paint)
	v.unsure(lower.crop(lower.Size().X*fanShare+size, 0, 0, 0), size*0.92)
}

// framed draws a figure in a thin frame.
func (v *reportPage) framed(p pen, paint func(pen)) {
	p.StrokeLines(draw.LineStyle{Color: inks.Grid, Width: 1}, corners(p.Rectangle))
	paint(p)
}

// unsure shows what the lag's uncertainty is made of, a bar for each part as long
// as its share.
func (v *reportPage) unsure(p pen, size vg.Length) {
	head := lettering{size: size, bold: true, color: inks.Text}
	l := lettering{size: size, color: inks.Text}
	muted := lettering{size: size, color: inks.Quiet}
	y := p.Max.Y - head.cap()
	for _, line := range head.wrap(i18n.L("What makes it uncertain"), p.Size().X) {
		p.text(line, head, p.Min.X, y, 0)
		y -= size * 1.3
	}
	b := v.Reading.Budget
	if !b.Known() || !finite(b.CombinedMS) || v.Reading.Used() < calib.MinPairs {
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
		p.fillRect(inks.Grid, p.Min.X, bar, p.Max.X, bar+size*0.3)
		p.fillRect(inks.Mark, p.Min.X, bar, p.Min.X+p.Size().X*vg.Length(term.Share), bar+size*0.3)
		y -= each
	}
	all := i18n.F("together %s ms", decimal(b.CombinedMS, 2))
	p.text(all, head.shrunk(all, p.Size().X), p.Max.X, y, 1)
	most := b.Largest()
	paragraph(p, muted, i18n.F("Mostly %s; reduced by %s.", most.What, most.Shrink), y-size*1.8)
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

// wordLine is a line of the sections; a head hangs left of the first of each.
type wordLine struct {
	head, words string
	lettering
}

// wordLines breaks the sections into lines.
func (v *reportPage) wordLines(size, width vg.Length) (lines []wordLine) {
	plain := lettering{size: size, color: inks.Text}
	strong := lettering{size: size * 1.15, bold: true, color: inks.Text}
	for _, s := range v.sections() {
		first := len(lines)
		add := func(l lettering, words string) {
			for _, line := range l.wrap(words, width-v.hang(size)) {
				lines = append(lines, wordLine{"", line, l})
			}
		}
		if s.strong != "" {
			add(strong, s.strong)
		}
		for _, paragraph := range s.lines {
			add(plain, paragraph)
		}
		if len(lines) > first {
			lines[first].head = s.head
		}
	}
	return lines
}

// hang is how far the sections' lines stand in.
func (v *reportPage) hang(size vg.Length) vg.Length {
	widest := vg.Length(0)
	for _, s := range v.sections() {
		widest = max(widest, lettering{size: size, bold: true}.width(s.head))
	}
	return widest + size
}

// What sections take beside their lines, in sizes.
const (
	wordLead   = 1.36 // from line to line
	aboveWords = 0.35 // above each section
	belowWords = 0.6
)

// words writes the sections at the foot of the page, in letters so small that all of them
// have room, and returns the room they took. What has none in the least letters is cut off.
func (v *reportPage) words(p pen, room vg.Length) vg.Length {
	size, least := v.letters(), leastWords*(0.5+v.unit/2)
	beside := belowWords + aboveWords*vg.Length(len(v.sections()))
	lines := v.wordLines(size, p.Size().X)
	for size > least && (vg.Length(len(lines))*wordLead+beside)*size > room {
		size = max(size*0.95, least)
		lines = v.wordLines(size, p.Size().X)
	}
	if most := max(int((room/size-beside)/wordLead), 1); len(lines) > most {
		lines = lines[:most]
		lines[most-1].words += " …"
	}
	height := (vg.Length(len(lines))*wordLead + beside) * size
	y := p.Min.Y + height - size*belowWords
	for _, line := range lines {
		if line.head != "" {
			y -= size * aboveWords
			p.text(line.head, lettering{size: size, bold: true, color: inks.Quiet}, p.Min.X, y-size*capHeight, 0)
		}
		p.text(line.fit(line.words, p.Size().X-v.hang(size)), line.lettering, p.Min.X+v.hang(size), y-size*capHeight, 0)
		y -= size * wordLead
	}
	return height
}
