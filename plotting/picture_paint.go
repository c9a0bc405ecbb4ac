package plotting

import (
	"image/color"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
)

// overviewShare is how much of the height the whole take has above a near part.
const overviewShare vg.Length = 0.27

func (v *pictureView) paint(p pen) {
	size := p.Size()
	base := baseSize(size)
	inner := p.crop(1.4*base, 1.4*base, base*0.6, base*0.8)
	if s := inner.Size(); s.X < 8*base || s.Y < 10*base {
		return
	}
	head := lettering{size: base * 1.15, bold: true, color: inks.Text}
	y := inner.Max.Y - head.cap()
	note := lettering{size: base, color: inks.Quiet}
	inner.text(note.fit(v.said, inner.Size().X*0.5), note, inner.Max.X, y, 1)
	inner.text(head.fit(v.title, inner.Size().X-note.width(v.said)-base), head, inner.Min.X, y, 0)
	below := v.paintLegend(inner, base)
	body := inner.crop(0, 0, below, head.cap()+base*0.7)
	if !v.near.usable() {
		v.panel(body, v.whole, base, false)
		return
	}
	over := body.Size().Y * overviewShare
	top, bottom := body.crop(0, 0, body.Size().Y-over, 0), body.crop(0, 0, 0, over+base*1.2)
	axis := v.panel(top, v.whole, base, true)
	v.panel(bottom, v.near, base, false)
	v.flare(top, bottom, axis)
}

// flare shows where the near stretch lies in the whole take.
func (v *pictureView) flare(top, bottom pen, axis vg.Length) {
	at := func(s float64) vg.Length {
		all := span{Lo: v.whole.FromS, Hi: v.whole.ToS}
		return vg.Length(all.X(all.Clamp(s), float64(top.Min.X), float64(top.Max.X)))
	}
	c, foot := inks.Mark, top.Min.Y+axis
	for _, s := range []float64{v.near.FromS, v.near.ToS} {
		edge := bottom.Min.X
		if s == v.near.ToS {
			edge = bottom.Max.X
		}
		top.line(c, 1, at(s), top.Max.Y, at(s), foot)
		top.line(c, 1, at(s), foot, at(s), top.Min.Y)
		top.line(c, 1, at(s), top.Min.Y, edge, bottom.Max.Y)
	}
	top.fillRect(sketch.Faded(c, 0.10), at(v.near.FromS), foot, at(v.near.ToS), top.Max.Y)
}

// panel draws one strip, from far without words, and returns how high its axis lies above its foot.
func (v *pictureView) panel(p pen, s Stretch, base vg.Length, far bool) vg.Length {
	m := mirror.New(p.sketch(), inks, float64(base), float64(p.Size().Y), span{Lo: s.FromS, Hi: s.ToS}, v.reading)
	m.Far, m.Why = far, func(q calib.Pair) string { return v.letter(q.Reason) }
	m.Grid()
	s.Reference.draw(m, sketch.Faded(inks.Reference, 0.45), m.LaneTop, m.Top)
	s.Voice.draw(m, sketch.Faded(inks.Voice, 0.45), m.LaneBottom, m.Bottom)
	m.Pairs()
	if !far {
		m.Captions("", "")
	}
	return p.Size().Y - vg.Length(m.Bottom)
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
func (v *pictureView) paintLegend(p pen, base vg.Length) vg.Length {
	if len(v.reading.Pairs) == 0 {
		return 0
	}
	l := lettering{size: base * 0.95, color: inks.Quiet}
	lines := v.legendLines(l, p.Size().X-base*2)
	for i, line := range lines {
		p.text(line, l, p.Min.X+base*1.6, p.Min.Y+vg.Length(len(lines)-1-i)*l.size*1.35+base*0.2, 0)
	}
	head := p.sketch()
	x, y := float64(base)*0.6, float64(p.Size().Y-vg.Length(len(lines)-1)*l.size*1.35-base*0.2-l.cap()/2)
	head.Diamond(inks.Voice, x, y, sketch.HeadRadius+1)
	if len(v.reasons) > 0 {
		head.Diamond(inks.Paper, x, y, sketch.HeadRadius-1.2)
	}
	return vg.Length(len(lines))*l.size*1.35 + base*0.6
}

// legendLines breaks the legend between reasons.
func (v *pictureView) legendLines(l lettering, width vg.Length) []string {
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
