package plotting

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

func (v *pictureView) paint(p pen) {
	size := p.Size()
	base := baseSize(size)
	inner := p.crop(1.4*base, 1.4*base, base*0.6, base*0.8)
	if s := inner.Size(); s.X < 8*base || s.Y < 10*base {
		return
	}
	head := lettering{size: base * 1.15, bold: true, color: v.theme.Text}
	y := inner.Max.Y - head.cap()
	note := lettering{size: base, color: v.theme.Quiet}
	inner.text(note.fit(v.said, inner.Size().X*0.5), note, inner.Max.X, y, 1)
	inner.text(head.fit(v.title, inner.Size().X-note.width(v.said)-base), head, inner.Min.X, y, 0)
	below := v.paintLegend(inner, base)
	body := inner.crop(0, 0, below, head.cap()+base*0.7)
	if v.near == nil {
		v.panel(body, v.whole, base, true)
		return
	}
	over := body.Size().Y * overviewShare
	top, bottom := body.crop(0, 0, body.Size().Y-over, 0), body.crop(0, 0, 0, over+base*1.2)
	v.panel(top, v.whole, base, false)
	v.panel(bottom, v.near, base, true)
	v.flare(top, bottom, base)
}

// flare shows where the near stretch lies in the whole take.
func (v *pictureView) flare(top, bottom pen, base vg.Length) {
	at := func(s float64) vg.Length {
		share := (v.whole.Clamp(s) - v.whole.Lo) / v.whole.Width()
		return top.Min.X + top.Size().X*vg.Length(share)
	}
	c, foot := v.theme.Mark, top.Min.Y+axisRoom(base)
	for _, s := range []float64{v.near.Lo, v.near.Hi} {
		edge := bottom.Min.X
		if s == v.near.Hi {
			edge = bottom.Max.X
		}
		top.line(c, 1, at(s), top.Max.Y, at(s), foot)
		top.line(c, 1, at(s), foot, at(s), top.Min.Y)
		top.line(c, 1, at(s), top.Min.Y, edge, bottom.Max.Y)
	}
	top.fillRect(sketch.Faded(c, 0.10), at(v.near.Lo), foot, at(v.near.Hi), top.Max.Y)
}

// axisRoom is what the moments under a panel need.
func axisRoom(base vg.Length) vg.Length { return base * 1.5 }

// panel is one strip on the page.
type panel struct {
	pen
	*pictureView
	strip        *strip
	base         vg.Length
	upper, lower vg.Length // edges of the lane between the halves
	full         bool      // with letters and lags
}

func (v *pictureView) panel(p pen, s *strip, base vg.Length, full bool) {
	a := panel{pen: p.crop(0, 0, axisRoom(base), 0), pictureView: v, strip: s, base: base, full: full}
	lane := base * 0.9
	if full {
		lane = base * 2.2
	}
	middle := a.Center().Y
	a.upper, a.lower = middle+lane/2, middle-lane/2
	a.axis()
	a.wave(s.reference, sketch.Faded(v.theme.Reference, 0.45), (a.Max.Y+a.upper)/2, (a.Max.Y-a.upper)/2)
	a.wave(s.voice, sketch.Faded(v.theme.Voice, 0.45), (a.Min.Y+a.lower)/2, (a.lower-a.Min.Y)/2)
	a.fillRect(v.theme.Grid, a.Min.X, a.lower, a.Max.X, a.upper)
	a.pins()
	a.brackets()
	if full {
		a.names()
	}
}

func (a panel) x(s float64) vg.Length {
	return a.Min.X + a.Size().X*vg.Length((s-a.strip.Lo)/a.strip.Width())
}

// axis writes the moments under the panel.
func (a panel) axis() {
	l := lettering{size: a.base * 0.9, color: a.theme.Quiet}
	marker := ticker{a.Size().X, func(s string) vg.Length { return l.width(i18n.F("%s s", s)) + 3*a.base }}
	for _, t := range marker.Ticks(a.strip.Lo, a.strip.Hi) {
		x := a.x(t.Value)
		a.line(a.theme.Quiet, 0.8, x, a.Min.Y, x, a.Min.Y-3)
		s := i18n.F("%s s", t.Label)
		at := min(max(x, a.Min.X+l.width(s)/2), a.Max.X-l.width(s)/2)
		a.text(s, l, at, a.Min.Y-4-l.cap(), 0.5)
	}
	a.line(a.theme.Quiet, 0.8, a.Min.X, a.Min.Y, a.Max.X, a.Min.Y)
}

// wave fills the outline of one channel about a level.
func (a panel) wave(w wave, c color.NRGBA, level, half vg.Length) {
	n := len(w.columns)
	high, low := make([]vg.Point, 0, 2*n+2), make([]vg.Point, 0, n+1)
	at := func(v float32) vg.Length {
		share := float64(v) / w.full
		if !finite(share) {
			share = 0
		}
		return level + half*vg.Length(math.Min(math.Max(share, -1), 1))
	}
	for i, col := range w.columns {
		x := a.Min.X + a.Size().X*(vg.Length(i)+0.5)/vg.Length(n)
		high = append(high, vg.Point{X: x, Y: max(at(col.Max), at(col.Min)) + 0.25})
		low = append(low, vg.Point{X: x, Y: min(at(col.Min), at(col.Max)) - 0.25})
	}
	for i := range low {
		high = append(high, low[len(low)-1-i])
	}
	a.FillPolygon(c, high)
}

// pins stand on every hit: the reference's upward from the lane, the voice's
// downward; those that do not count are dashed.
func (a panel) pins() {
	width := vg.Length(0.9)
	if a.full {
		width = 1.3
	}
	for _, s := range a.hits {
		if a.strip.Contains(s) {
			x := a.x(s)
			a.line(a.theme.Reference, width, x, a.upper, x, a.Max.Y)
			a.disc(a.theme.Reference, vg.Point{X: x, Y: a.upper}, a.headSize())
		}
	}
	last := vg.Length(-1e6)
	for _, p := range a.pairs {
		if !a.strip.Contains(p.VoiceS) {
			continue
		}
		x := a.x(p.VoiceS)
		if p.Used {
			a.line(a.theme.Voice, width, x, a.lower, x, a.Min.Y)
			continue
		}
		foot := a.lower - (a.lower-a.Min.Y)*0.55
		a.line(a.theme.Quiet, width*0.8, x, a.lower, x, foot, 3, 2)
		if a.full && x-last > a.base*0.75 {
			last = x
			a.mark(a.letter(p.Reason), x, foot-a.base*0.9)
		}
	}
	a.heads()
}

// mark writes a letter on a spot of paper.
func (a panel) mark(letter string, x, y vg.Length) {
	l := lettering{size: a.base, bold: true, color: a.theme.Text}
	a.disc(sketch.Faded(a.theme.Paper, 0.85), vg.Point{X: x, Y: y + l.cap()/2}, a.base*0.6)
	a.text(letter, l, x, y, 0.5)
}

func (a panel) headSize() vg.Length {
	if a.full {
		return a.base * 0.3
	}
	return a.base * 0.16
}

// heads draws the voice's heads over everything else, the used ones last.
func (a panel) heads() {
	for _, used := range []bool{false, true} {
		for _, p := range a.pairs {
			if p.Used == used && a.strip.Contains(p.VoiceS) {
				a.diamond(p.Used, vg.Point{X: a.x(p.VoiceS), Y: a.lower}, a.headSize()*1.25)
			}
		}
	}
}

// diamond is the head of a voice hit, hollow where that does not count.
func (a panel) diamond(filled bool, at vg.Point, half vg.Length) {
	shape := func(r vg.Length) []vg.Point {
		return []vg.Point{{X: at.X - r, Y: at.Y}, {X: at.X, Y: at.Y + r}, {X: at.X + r, Y: at.Y}, {X: at.X, Y: at.Y - r}}
	}
	if filled {
		a.FillPolygon(a.theme.Voice, shape(half))
		return
	}
	a.FillPolygon(a.theme.Quiet, shape(half))
	a.FillPolygon(a.theme.Paper, shape(half*0.55))
}

// brackets join the pairs that count, each as wide as its lag.
func (a panel) brackets() {
	for i, p := range a.pairs {
		lo, hi := min(p.ReferenceS, p.VoiceS), max(p.ReferenceS, p.VoiceS)
		if !p.Used || hi < a.strip.Lo || lo > a.strip.Hi {
			continue
		}
		middle, half, c := (a.upper+a.lower)/2, (a.upper-a.lower)*0.27, a.theme.Side(p.LagMS)
		x0, x1 := max(a.x(lo), a.Min.X), min(a.x(hi), a.Max.X)
		a.fillRect(sketch.Faded(c, 0.22), x0, middle-half, x1, middle+half)
		a.line(c, 1.2, x0, middle+half, x1, middle+half)
		a.line(c, 1.2, x0, middle-half, x1, middle-half)
		if x := a.x(p.ReferenceS); a.strip.Contains(p.ReferenceS) {
			a.line(c, 1.4, x, a.upper, x, middle-half)
		}
		if x := a.x(p.VoiceS); a.strip.Contains(p.VoiceS) {
			a.line(c, 1.4, x, a.lower, x, middle+half)
		}
		if a.full {
			a.lag(i, x0, x1)
		}
	}
}

// lag writes the lag of pair i in its bracket or beside it, as far as the next
// hit leaves room.
func (a panel) lag(i int, x0, x1 vg.Length) {
	l := lettering{size: a.base, bold: true, color: a.theme.Side(a.pairs[i].LagMS)}
	y := (a.upper+a.lower)/2 - l.cap()/2
	room := a.room(a.pairs[i], x1)
	for _, s := range []string{sketch.LagWords(a.pairs[i].LagMS), decimal(a.pairs[i].LagMS, 1)} {
		switch w := l.width(s); {
		case w+6 <= x1-x0:
			a.text(s, l, (x0+x1)/2, y, 0.5)
			return
		case w+10 <= room:
			a.text(s, l, x1+6, y, 0)
			return
		}
	}
}

// room returns how far it is from the right end of a pair's bracket to the next
// bracket, or to the edge.
func (a panel) room(of calib.Pair, x1 vg.Length) vg.Length {
	room := a.Max.X - x1
	for _, p := range a.pairs {
		if x := min(a.x(p.ReferenceS), a.x(p.VoiceS)); p.Used && p != of && x >= x1 {
			room = min(room, x-x1)
		}
	}
	return room
}

// names writes which half is which.
func (a panel) names() {
	for _, n := range []struct {
		name string
		ink  color.NRGBA
		y    vg.Length
	}{{i18n.L("reference"), a.theme.Reference, a.Max.Y - a.base}, {i18n.L("voice"), a.theme.Voice, a.Min.Y + a.base*0.5}} {
		l := lettering{size: a.base, bold: true, color: n.ink}
		a.fillRect(sketch.Faded(a.theme.Paper, 0.8), a.Min.X, n.y-a.base*0.35, a.Min.X+l.width(n.name)+a.base*0.5, n.y+a.base)
		a.text(n.name, l, a.Min.X+a.base*0.25, n.y, 0)
	}
}

// paintLegend explains the marks and the letters at the foot of the page and
// returns the room it took.
func (v *pictureView) paintLegend(p pen, base vg.Length) vg.Length {
	if len(v.pairs) == 0 {
		return 0
	}
	l := lettering{size: base * 0.95, color: v.theme.Quiet}
	lines := v.legendLines(l, p.Size().X-base*2)
	for i, line := range lines {
		p.text(line, l, p.Min.X+base*1.6, p.Min.Y+vg.Length(len(lines)-1-i)*l.size*1.35+base*0.2, 0)
	}
	at := vg.Point{X: p.Min.X + base*0.6, Y: p.Min.Y + vg.Length(len(lines)-1)*l.size*1.35 + base*0.2 + l.cap()/2}
	panel{pen: p, pictureView: v}.diamond(len(v.reasons) == 0, at, base*0.4)
	return vg.Length(len(lines))*l.size*1.35 + base*0.6
}

// legendLines breaks the legend between reasons.
func (v *pictureView) legendLines(l lettering, width vg.Length) []string {
	if len(v.reasons) == 0 {
		return []string{i18n.L("voice hit, used; every one that was found is")}
	}
	lines := []string{i18n.L("voice hit, not used:")}
	for _, words := range v.legend() {
		last := len(lines) - 1
		if longer := lines[last] + "    " + words; l.width(longer) <= width {
			lines[last] = longer
		} else {
			lines = append(lines, l.fit(words, width))
		}
	}
	return lines
}
