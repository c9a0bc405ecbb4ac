package plotting

import (
	"fmt"
	"image/color"
	"slices"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/plotting/sketch"
)

// Report is one take on one page, for a notebook or to show to others.
type Report struct {
	Machine     string
	Take        machine.Take
	Voice       string // one that the take heard
	Setting     int    // where the plate stood, as far as the takes tell; positive = voice earlier
	Reading     calib.Reading
	Do, Why     string  // what the take leads to, in words
	Reach       bool    // to do it, somebody reaches into the machine
	LimitMS     float64 // a lag within ± this is tight; 0 = not known
	ToleranceMS float64
	SongsBPM    []float64 // the set list's tempos, which a sweep shows
	Picture     Picture   // its sound; without any the report shows the hits alone and says so
}

// Figure lays the report out on one upright page: lag and interval, the mirror
// trace, the hit fan, or a sweep's hits by tempo, beside what makes the lag unsure, and what there is to say
// of it in words. However much that is, it stays one page: the letters become
// smaller, and what is left over then is cut off with an ellipsis.
func (r Report) Figure(paper Paper) *Figure {
	p := r.Picture
	p.Reading, p.Title = r.Reading, i18n.L("Mirror trace")
	if !p.Whole.usable() {
		p.Title = hitsAlone()
	}
	return paper.upright((&reportPage{r, paper.unit(), p.view(), fanOf(r.Reading, r.LimitMS, r.ToleranceMS, r.SongsBPM...)}).paint)
}

// fact is one thing that is known of a take.
type fact struct{ what, words string }

// facts are what the report says beside lag and interval.
func (r Report) facts() []fact {
	tempo, target := "", r.Take.Target.TempoBPM
	switch played := r.Reading.TempoBPM; {
	case r.Reading.Law.Determined():
		tempo = i18n.F("%.0f to %.0f BPM", r.Reading.Law.FromBPM, r.Reading.Law.ToBPM)
	case isTempo(target) && isTempo(played):
		tempo = i18n.F("target %s BPM, %.1f played", compact(target), played)
	case isTempo(target):
		tempo = i18n.F("target %s BPM", compact(target))
	case isTempo(played):
		tempo = i18n.F("%.1f played", played)
	}
	jitter := ""
	if r.Reading.Used() >= calib.MinPairs && sketch.IsLag(r.Reading.JitterMS) {
		jitter = i18n.F("%s ms from hit to hit", decimal(r.Reading.JitterMS, 1))
	}
	return slices.DeleteFunc([]fact{
		{i18n.L("voice"), clean(r.Voice)}, {i18n.L("song"), clean(r.Take.Target.Song)}, {i18n.L("tempo"), tempo}, {i18n.L("plate"), i18n.F("at %s", calib.SettingWords(r.Setting))},
		{i18n.L("jitter"), jitter}, {i18n.L("pairs"), i18n.F("%d of %d used", r.Reading.Used(), len(r.Reading.Pairs))},
	}, func(f fact) bool { return f.words == "" })
}

// lagWords says the lag as played and in which colour, or that there is none to go by.
func (r Report) lagWords() (string, color.NRGBA) {
	if r.Reading.Used() < calib.MinPairs || !sketch.IsLag(r.Reading.LagMS) {
		return i18n.L("no reading"), inks.Text
	}
	return calib.LateEarly(r.Reading.LagMS), inks.Lag(r.Reading.LagMS, max(r.ToleranceMS, r.LimitMS))
}

func (r Report) intervalWords() string {
	ci := r.Reading.LagCI95MS
	switch {
	case r.Reading.Used() < calib.MinPairs:
		return i18n.F("a lag needs %d pairs or more", calib.MinPairs)
	case !sketch.IsLag(ci[0]) || !sketch.IsLag(ci[1]):
		return ""
	}
	return i18n.F("± %s ms, with 95 %% certainty between %s and %s",
		decimal(r.Reading.HalfWidthMS(), 1), calib.LateEarly(ci[0]), calib.LateEarly(ci[1]))
}

// section is a piece of the report in words; the first line may stand out.
type section struct {
	head   string
	strong string
	lines  []string
}

// sections are what there is to say, the most urgent first.
func (r Report) sections() []section {
	leftOut, moved, byHand := "", "", ""
	if r.Take.LeftOut {
		leftOut = i18n.L("This take is left out: neither law nor settings count it.")
	}
	if r.Take.Moved != nil {
		moved = movedWords(*r.Take.Moved)
	}
	advice := section{head: i18n.L("Advice"), strong: clean(r.Do), lines: said(leftOut, r.Why, moved)}
	warnings := section{head: i18n.L("Warnings")}
	for _, w := range r.Reading.Warnings {
		warnings.lines = append(warnings.lines, sentence(w.Words()))
	}
	if len(warnings.lines) == 0 {
		warnings.lines = []string{i18n.L("None.")}
	}
	if heard := r.Take.Of(r.Voice); heard != nil && heard.ByHand != nil {
		byHand = i18n.F("Hits changed by hand: %d.", len(heard.ByHand.Edits))
	}
	all := []section{advice, warnings}
	if notes := said(byHand, r.Take.Notes); len(notes) > 0 {
		all = append(all, section{head: i18n.L("Notes"), lines: notes})
	}
	return all
}

// said returns the texts that are not empty, each fit for a line.
func said(texts ...string) []string {
	for i := range texts {
		texts[i] = oneLine(texts[i])
	}
	return full(texts...)
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	s = oneLine(s)
	if s == "" {
		return s
	}
	runes := []rune(s)
	s = strings.ToUpper(string(runes[:1])) + string(runes[1:])
	if strings.ContainsRune(".!?。", runes[len(runes)-1]) {
		return s
	}
	return s + "."
}

// Words is the report in plain text, for a message.
func (r Report) Words() string {
	var b strings.Builder
	fmt.Fprintln(&b, joined(clean(r.Machine), i18n.F("Take %d", r.Take.ID), moment(r.Take.At)))
	lag, _ := r.lagWords()
	fmt.Fprintln(&b, i18n.F("lag: %s, %s", lag, r.intervalWords()))
	for _, f := range r.facts() {
		fmt.Fprintf(&b, "%s: %s\n", f.what, f.words)
	}
	if most := r.Reading.Budget; most.Known() {
		fmt.Fprintln(&b, i18n.F("least sure because of: %s, reduced by %s", most.Largest().What, most.Largest().Shrink))
	}
	if v := (Picture{Reading: r.Reading}).view(); len(v.reasons) > 0 {
		var whys []string
		for _, reason := range v.reasons {
			whys = append(whys, v.why(reason))
		}
		fmt.Fprintln(&b, i18n.F("hits not used: %s", strings.Join(whys, "; ")))
	}
	for _, s := range r.sections() {
		fmt.Fprintf(&b, "%s: %s\n", s.head, strings.Join(said(append([]string{sentence(s.strong)}, s.lines...)...), " "))
	}
	return b.String()
}

// moment is when a take was recorded, by the clock on the wall.
func moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Local().Format(i18n.L("2 Jan 2006, 15:04"))
}

// reportPage is a report and what is drawn on its page.
type reportPage struct {
	Report
	unit    float64
	picture *pictureView
	hits    hitFan
}

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
func (v *reportPage) letters() float64 { return plainWords * (0.5 + v.unit/2) }

func (v *reportPage) paint(p pen) {
	inner := p.crop(margin, margin, margin, margin)
	size := v.letters()
	top := v.heading(inner, size)
	body := inner.crop(0, 0, v.footing(inner, size), top)
	text := v.words(body, body.h-(leastTrace+leastFan)*v.unit)
	drawn := body.crop(0, 0, text, 0)
	v.pictures(drawn, min(drawn.h*leastTrace/(leastTrace+leastFan), mostTrace*v.unit), size)
}

// heading writes machine, take and time, the lag in large letters and the facts,
// and returns the room they took.
func (v *reportPage) heading(p pen, size float64) float64 {
	title := lettering{size: size * 2, bold: true, color: inks.Text}
	note := lettering{size: size, color: inks.Quiet}
	y := title.cap()
	p.text(title.fit(clean(v.Machine), p.w), title, 0, y, 0)
	y += size * 1.6
	p.text(note.fit(joined(i18n.F("Take %d", v.Take.ID), moment(v.Take.At)), p.w), note, 0, y, 0)
	y += size * 0.7
	p.line(inks.Text, 1.2*v.unit, 0, y, p.w, y)

	words, ink := v.lagWords()
	lag := lettering{size: size * 2.3, bold: true, color: ink}
	y += size*0.7 + lag.cap()
	p.text(lag.fit(words, p.w), lag, 0, y, 0)
	beside, interval := lag.width(words)+size, v.intervalWords()
	p.text(interval, lettering{size: size * 1.1, color: inks.Text}.shrunk(interval, p.w-beside), beside, y, 0)
	return v.table(p, size, y+size*1.9)
}

// table writes the facts in two columns from a baseline on, and returns where
// they end.
func (v *reportPage) table(p pen, size, y float64) float64 {
	name := lettering{size: size, color: inks.Quiet}
	words := lettering{size: size, bold: true, color: inks.Text}
	label := 0.0
	for _, f := range v.facts() {
		label = max(label, name.width(f.what)+size)
	}
	for i, f := range v.facts() {
		x := float64(i%2) * p.w / 2
		p.text(f.what, name, x, y, 0)
		p.text(words.fit(f.words, p.w/2-label-size/2), words, x+label, y, 0)
		if i%2 == 1 || i == len(v.facts())-1 {
			y += size * 1.45
		}
	}
	return y - size*0.6
}

// footing writes the caution, where a move is advised, and whence the take came,
// and returns the room they took.
func (v *reportPage) footing(p pen, size float64) float64 {
	l := lettering{size: size * 0.85, color: inks.Quiet}
	p.text(l.fit(clean(joined(v.Take.File, v.Take.Origin.String())), p.w), l, 0, p.h-l.size*0.25, 0)
	taken := l.size * 1.6
	if v.Reach {
		u := v.unit * 0.72
		cautionStrip(p.crop(0, 0, taken, 0), u)
		taken += cautionHeight*u + size*0.5
	}
	return taken
}

// pictures draws the mirror trace above the hits, in thin frames, and what makes the lag unsure.
func (v *reportPage) pictures(p pen, trace, size float64) {
	lower := p.crop(0, 0, 0, trace+size*0.5)
	above, fan := p.crop(0, 0, p.h-trace, 0), lower.crop(0, p.w*(1-fanShare), 0, 0)
	above.outline(inks.Grid, 1)
	v.picture.paint(above)
	fan.outline(inks.Grid, 1)
	v.hits.paint(fan)
	v.unsure(lower.crop(p.w*fanShare+size, 0, 0, 0), size*0.92)
}

// unsure shows what the lag's uncertainty is made of, a bar for each part as long
// as its share.
func (v *reportPage) unsure(p pen, size float64) {
	head := lettering{size: size, bold: true, color: inks.Text}
	l := lettering{size: size, color: inks.Text}
	muted := lettering{size: size, color: inks.Quiet}
	y := paragraph(p, head, i18n.L("What makes it uncertain"), head.cap())
	b := v.Reading.Budget
	if !b.Known() || !finite(b.CombinedMS()) || v.Reading.Used() < calib.MinPairs {
		paragraph(p, muted, i18n.L("Not known: too few pairs."), y)
		return
	}
	terms := b.Terms()
	y += size * 0.4
	each := min((p.h-y)/(float64(len(terms))+0.3), size*2.4)
	for _, term := range terms {
		value := i18n.F("%s ms", decimal(term.MS, 2))
		p.text(value, muted, p.w, y, 1)
		p.text(l.fit(term.What, p.w-muted.width(value)-size*0.4), l, 0, y, 0)
		p.Box(inks.Grid, 0, y+size*0.32, p.w, y+size*0.62)
		p.Box(inks.Mark, 0, y+size*0.32, p.w*term.Share, y+size*0.62)
		y += each
	}
	all := i18n.F("in all %s ms", decimal(b.CombinedMS(), 2))
	p.text(all, head.shrunk(all, p.w), p.w, y, 1)
	most := b.Largest()
	paragraph(p, muted, i18n.F("Mostly %s; reduced by %s.", most.What, most.Shrink), y+size*1.8)
}

// paragraph writes words in lines from a baseline on, where all of it has room, and returns
// the next baseline.
func paragraph(p pen, l lettering, words string, y float64) float64 {
	lines := l.wrap(words, p.w)
	if y+float64(len(lines)-1)*l.size*1.3 > p.h {
		return y
	}
	for _, line := range lines {
		p.text(line, l, 0, y, 0)
		y += l.size * 1.3
	}
	return y
}

// wordLine is a line of the sections; a head hangs left of the first of each.
type wordLine struct {
	head, words string
	lettering
}

// wordLines breaks the sections into lines.
func (v *reportPage) wordLines(size, width float64) (lines []wordLine) {
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
func (v *reportPage) hang(size float64) float64 {
	widest := 0.0
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
func (v *reportPage) words(p pen, room float64) float64 {
	size, least := v.letters(), leastWords*(0.5+v.unit/2)
	beside := belowWords + aboveWords*float64(len(v.sections()))
	lines := v.wordLines(size, p.w)
	for size > least && (float64(len(lines))*wordLead+beside)*size > room {
		size = max(size*0.95, least)
		lines = v.wordLines(size, p.w)
	}
	if most := max(int((room/size-beside)/wordLead), 1); len(lines) > most {
		lines = lines[:most]
		lines[most-1].words += " …"
	}
	height := (float64(len(lines))*wordLead + beside) * size
	y := p.h - height + size*belowWords
	for _, line := range lines {
		if line.head != "" {
			y += size * aboveWords
			p.text(line.head, lettering{size: size, bold: true, color: inks.Quiet}, 0, y+size*capHeight, 0)
		}
		p.text(line.fit(line.words, p.w-v.hang(size)), line.lettering, v.hang(size), y+size*capHeight, 0)
		y += size * wordLead
	}
	return height
}
