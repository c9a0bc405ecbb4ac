package plotting

import (
	"cmp"
	"fmt"
	"image/color"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
	"lagwright/plotting/wave"
)

// Picture is the data of a take's picture: both channels, the hits and the pairs.
type Picture struct {
	Title   string
	Reading calib.Reading
	Whole   Stretch // the take from end to end; without columns the hits are shown alone
	Near    Stretch // a part of it from near; without columns there is none
}

// Figure draws the picture: the reference above a shared line, the voice below
// it, a pin on each hit. Pairs that count are joined by a bracket as wide as
// their lag; voice hits that do not are hollow, with a letter that a legend
// explains. With a near stretch the whole take is a strip above it that shows
// where it lies.
func (p Picture) Figure() *Figure {
	v := p.view()
	if r := p.Reading; r.Used() >= calib.MinPairs && sketch.IsLag(r.LagMS) {
		v.said = joined(calib.LateEarly(r.LagMS), v.said)
	}
	if !p.Whole.usable() {
		v.said = hitsAlone()
	}
	return printed(250*mm, 140*mm, v.paint)
}

// hitsAlone says why there is no sound to see.
func hitsAlone() string { return i18n.L("Hits alone: the recording is missing") }

// pictureView is a picture ready to be drawn.
type pictureView struct {
	title, said string
	whole, near Stretch
	reading     calib.Reading // its hits and pairs that can be drawn, in order
	reasons     []string      // of hits not used, the commonest first and the letter a
	counts      map[string]int
}

func (p Picture) view() *pictureView {
	if !p.Whole.usable() {
		p = p.silent()
	}
	v := &pictureView{title: clean(p.Title), whole: p.Whole, near: p.Near, counts: map[string]int{}}
	r := &v.reading
	for _, s := range p.Reading.ReferenceHitsS {
		if finite(s) {
			r.ReferenceHitsS = append(r.ReferenceHitsS, s)
		}
	}
	for _, q := range p.Reading.Pairs {
		if !finite(q.ReferenceS) || !finite(q.VoiceS) || !sketch.IsLag(q.LagMS) {
			continue
		}
		q.Reason = clean(q.Reason)
		r.Pairs = append(r.Pairs, q)
		if q.Used {
			r.VoiceHitsS = append(r.VoiceHitsS, q.VoiceS)
		} else if v.counts[q.Reason]++; v.counts[q.Reason] == 1 {
			v.reasons = append(v.reasons, q.Reason)
		}
	}
	slices.Sort(r.ReferenceHitsS)
	slices.Sort(r.VoiceHitsS)
	slices.SortStableFunc(v.reasons, func(a, b string) int { return v.counts[b] - v.counts[a] })
	v.said = i18n.F("%d of %d voice hits used", r.Used(), len(r.Pairs))
	return v
}

// letter names a reason in the picture.
func (v *pictureView) letter(reason string) string {
	i := slices.Index(v.reasons, reason)
	if i < 0 || i >= 26 {
		return "?"
	}
	return string(rune('a' + i))
}

// why says a reason and how often it holds.
func (v *pictureView) why(reason string) string {
	words := cmp.Or(clean(calib.ReasonWords(reason)), i18n.L("no reason given"))
	return fmt.Sprintf("%s (%d)", words, v.counts[reason])
}

// overviewShare is how much of the height the whole take has above a near part.
const overviewShare = 0.27

func (v *pictureView) paint(p pen) {
	base := p.base()
	inner := p.crop(1.4*base, 1.4*base, base*0.6, base*0.8)
	if inner.w < 8*base || inner.h < 10*base {
		return
	}
	head := lettering{size: base * 1.15, bold: true, color: inks.Text}
	note := lettering{size: base, color: inks.Quiet}
	inner.text(note.fit(v.said, inner.w*0.5), note, inner.w, head.cap(), 1)
	inner.text(head.fit(v.title, inner.w-note.width(v.said)-base), head, 0, head.cap(), 0)
	body := inner.crop(0, 0, v.paintLegend(inner, base), head.cap()+base*0.7)
	if !v.near.usable() {
		v.panel(body, v.whole, base, false)
		return
	}
	over := body.h * overviewShare
	foot := v.panel(body.crop(0, 0, body.h-over, 0), v.whole, base, true)
	v.panel(body.crop(0, 0, 0, over+base*1.2), v.near, base, false)
	v.flare(body, foot, over, over+base*1.2)
}

// flare shows where the near stretch, that begins at a height, lies in the whole take, which
// has its axis at foot and ends at over.
func (v *pictureView) flare(p pen, foot, over, near float64) {
	all := span{Lo: v.whole.FromS, Hi: v.whole.ToS}
	from, to := all.X(all.Clamp(v.near.FromS), 0, p.w), all.X(all.Clamp(v.near.ToS), 0, p.w)
	for _, edge := range [][2]float64{{from, 0}, {to, p.w}} {
		p.stroke(inks.Mark, 1, nil, []sketch.Pt{{X: edge[0]}, {X: edge[0], Y: over}, {X: edge[1], Y: near}})
	}
	p.Box(sketch.Faded(inks.Mark, 0.10), from, 0, to, foot)
}

// panel draws one strip, from far without words, and returns at what height its axis lies.
func (v *pictureView) panel(p pen, s Stretch, base float64, far bool) float64 {
	m := mirror.New(p.Pen, inks, base, p.h, span{Lo: s.FromS, Hi: s.ToS}, v.reading)
	m.Far, m.Why = far, func(q calib.Pair) string { return v.letter(q.Reason) }
	m.Grid()
	s.Reference.draw(m, sketch.Faded(inks.Reference, 0.45), m.LaneTop, m.Top)
	s.Voice.draw(m, sketch.Faded(inks.Voice, 0.45), m.LaneBottom, m.Bottom)
	m.Pairs()
	if !far {
		m.Captions("", "")
	}
	return m.Bottom
}

// draw fills how far the wave reaches, from the line at foot towards limit.
func (w Wave) draw(m *mirror.Trace, c color.Color, foot, limit float64) {
	outline := []sketch.Pt{{X: 0, Y: foot}}
	for i, col := range w.Columns {
		share := min(1, col.Height()*w.Gain)
		if !finite(share) {
			share = 0
		}
		outline = append(outline, sketch.Pt{X: m.W * (float64(i) + 0.5) / float64(len(w.Columns)), Y: foot + share*(limit-foot)})
	}
	m.Shape(c, append(outline, sketch.Pt{X: m.W, Y: foot}))
}

// paintLegend explains the marks and the letters at the foot of the page and
// returns the room it took.
func (v *pictureView) paintLegend(p pen, base float64) float64 {
	if len(v.reading.Pairs) == 0 {
		return 0
	}
	l := lettering{size: base * 0.95, color: inks.Quiet}
	lines := v.legendLines(l, p.w-base*2)
	lead := l.size * 1.35
	first := p.h - float64(len(lines)-1)*lead - base*0.2
	for i, line := range lines {
		p.text(line, l, base*1.6, first+float64(i)*lead, 0)
	}
	x, y := base*0.6, first-l.cap()/2
	p.Diamond(inks.Voice, x, y, sketch.HeadRadius+1)
	if len(v.reasons) > 0 {
		p.Diamond(inks.Paper, x, y, sketch.HeadRadius-1.2)
	}
	return float64(len(lines))*lead + base*0.6
}

// legendLines breaks the legend between reasons.
func (v *pictureView) legendLines(l lettering, width float64) []string {
	if len(v.reasons) == 0 {
		return []string{i18n.L("all voice hits found were used")}
	}
	lines := []string{i18n.L("voice hit, not used:")}
	for _, reason := range v.reasons {
		words, last := v.letter(reason)+"  "+v.why(reason), len(lines)-1
		if longer := lines[last] + "    " + words; l.width(longer) <= width {
			lines[last] = longer
		} else {
			lines = append(lines, l.fit(words, width))
		}
	}
	return lines
}

// mostColumns is as fine as a page can show.
const mostColumns = 1400

// Stretch is a part of a take as columns of equal width from its first moment to its
// last, in seconds from the start of the take.
type Stretch struct {
	FromS, ToS       float64
	Reference, Voice Wave
}

// Wave is one channel of a stretch, drawn so many times taller than full scale.
type Wave struct {
	Columns []wave.Range
	Gain    float64
}

func (s Stretch) usable() bool {
	return finite(s.FromS) && finite(s.ToS) && s.ToS > s.FromS && len(s.Reference.Columns) > 0 && len(s.Voice.Columns) > 0
}

// AddSound gives the picture both channels of its take: all of it, and from near what
// lies between two moments in seconds. Where that is all as well there is nothing from
// near, unless something worth seeing from near is wanted.
func (p *Picture) AddSound(reference, voice *wave.Pyramid, fromS, toS float64, near bool) (err error) {
	if reference == nil || voice == nil {
		return nil
	}
	length := max(float64(reference.Frames())/reference.Rate(), float64(voice.Frames())/voice.Rate())
	if p.Whole, err = stretchOf(reference, voice, 0, length); err != nil {
		return err
	}
	part := toS-fromS < length
	if !part && near {
		fromS, toS, part = p.NearS()
	}
	if part {
		p.Near, err = stretchOf(reference, voice, fromS, toS)
	}
	return err
}

// stretchOf returns the columns between two moments, as fine as a page shows.
func stretchOf(reference, voice *wave.Pyramid, fromS, toS float64) (Stretch, error) {
	s := Stretch{FromS: fromS, ToS: toS}
	for of, into := range map[*wave.Pyramid]*Wave{reference: &s.Reference, voice: &s.Voice} {
		each := (toS - fromS) * of.Rate() / mostColumns
		*into = Wave{make([]wave.Range, mostColumns), of.Gain()}
		if err := of.Columns(into.Columns, fromS*of.Rate(), each); err != nil {
			return Stretch{}, err
		}
	}
	return s, nil
}

// silent returns the picture without a sound in it, as long as its hits go on.
func (p Picture) silent() Picture {
	end := 1.0
	for _, s := range slices.Concat(p.Reading.ReferenceHitsS, p.Reading.VoiceHitsS) {
		if finite(s) {
			end = max(end, s+0.5)
		}
	}
	silence := Wave{make([]wave.Range, 1), 1}
	p.Whole = Stretch{ToS: end, Reference: silence, Voice: silence}
	if from, to, ok := p.NearS(); ok {
		p.Near = Stretch{FromS: from, ToS: to, Reference: silence, Voice: silence}
	}
	return p
}

// nearPairs is how many pairs the near stretch of a picture shows.
const nearPairs = 3

// NearS returns from when to when, in seconds, the take is worth seeing from
// near: a few pairs about one that counts, where most reasons for leaving hits
// out are in sight, and of such places the one nearest to the middle. It is not
// ok where no more than these pairs count.
func (p Picture) NearS() (fromS, toS float64, ok bool) {
	v := p.view()
	used := slices.DeleteFunc(slices.Clone(v.reading.Pairs), func(q calib.Pair) bool { return !q.Used })
	if len(used) <= nearPairs {
		return 0, 0, false
	}
	var gaps []float64
	for i := 1; i < len(used); i++ {
		gaps = append(gaps, used[i].ReferenceS-used[i-1].ReferenceS)
	}
	slices.Sort(gaps)
	half := math.Max(gaps[len(gaps)/2], 0.01) * nearPairs / 2
	middle, best := (p.Whole.FromS+p.Whole.ToS)/2, -1
	for _, q := range used {
		at := math.Min(math.Max((q.ReferenceS+q.VoiceS)/2, p.Whole.FromS+half), p.Whole.ToS-half)
		seen := v.reasonsBetween(at-half, at+half)
		if seen > best || seen == best && math.Abs(at-middle) < math.Abs((fromS+toS)/2-middle) {
			fromS, toS, best = at-half, at+half, seen
		}
	}
	return fromS, toS, 2*half < p.Whole.ToS-p.Whole.FromS
}

// reasonsBetween counts the different reasons of hits left out between two moments.
func (v *pictureView) reasonsBetween(fromS, toS float64) int {
	seen := map[string]bool{}
	for _, q := range v.reading.Pairs {
		if !q.Used && q.VoiceS >= fromS && q.VoiceS <= toS {
			seen[q.Reason] = true
		}
	}
	return len(seen)
}
