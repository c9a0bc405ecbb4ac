package plotting

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
)

// platePanel draws the index plate over the words about it.
func (v cardPage) platePanel(p pen) {
	radius := p.Size().X/2 - 27*v.unit
	at := vg.Point{X: p.Center().X, Y: p.Center().Y + 26*v.unit}
	v.plate(p, at, radius)
	v.plateWords(p, lettering{size: 9 * v.unit, color: v.theme.Ink}, p.Center().X, at.Y-radius-46*v.unit, 0.5)
}

// plateWords say how many notches the plate has, and which way is plus.
func (v cardPage) plateWords(p pen, l lettering, x, y, align vg.Length) {
	words := []string{i18n.L("index plate"), i18n.L("+ ahead: the voice sounds earlier"), i18n.L("− back: the voice sounds later")}
	if v.notches > 0 {
		words[0] = i18n.N(v.notches, "%d notches to a turn", "%d notches to a turn", v.notches)
	}
	for i, s := range words {
		l.bold = i == 0
		p.text(s, l, x, y, align)
		y -= l.size * 1.4
	}
}

// plate draws the plate as the window's dial does: 0 on top, ahead clockwise, a
// dot at every setting.
func (v cardPage) plate(p pen, at vg.Point, radius vg.Length) {
	t, u := v.theme, v.unit
	rim := v.rim(at, radius)
	p.FillPolygon(t.Tolerance, rim)
	p.StrokeLines(draw.LineStyle{Color: t.Ink, Width: 1.2 * u}, append(rim, rim[0], rim[1]))
	p.ring(t.Ink, 1.2*u, at, radius*0.14)
	index := at.Add(vg.Point{Y: radius + 2*u})
	p.FillPolygon(t.Ink, []vg.Point{index, index.Add(vg.Point{X: -4 * u, Y: 8 * u}), index.Add(vg.Point{X: 4 * u, Y: 8 * u})})
	p.text("0", lettering{size: 9 * u, bold: true, color: t.Ink}, index.X, index.Y+10*u, 0.5)
	v.ahead(p, at, radius*0.58)
	v.settingNotches(p, at, radius)
}

// rim is the outline of the plate: round, with a notch at every step, or with
// every second, fourth and so on where they would run together.
func (v cardPage) rim(at vg.Point, radius vg.Length) []vg.Point {
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
func (v cardPage) ahead(p pen, at vg.Point, radius vg.Length) {
	const from, to = 0.80 * math.Pi, 0.24 * math.Pi
	var arc []vg.Point
	for i := range 25 {
		arc = append(arc, at.Add(polar(radius, from+(to-from)*float64(i)/24)))
	}
	c := v.theme.Current
	p.StrokeLines(draw.LineStyle{Color: c, Width: radius * 0.1}, arc)
	p.FillPolygon(c, []vg.Point{
		at.Add(polar(radius*0.78, to)), at.Add(polar(radius*1.22, to)), at.Add(polar(radius, to-0.35)),
	})
	l := lettering{size: radius * 0.5, bold: true, color: c}
	p.text("+", l, at.X, at.Y+radius*0.5, 0.5)
}

// settingNotches dots the notch of every setting and numbers those that have room.
func (v cardPage) settingNotches(p pen, at vg.Point, radius vg.Length) {
	if v.notches == 0 {
		return
	}
	u := v.unit
	room := placer{area: p.Rectangle}
	room.mark(centred(at.Add(vg.Point{Y: radius + 10*u}), 9*u))
	l := lettering{size: 9 * u, bold: true, color: v.theme.Ink}
	for _, s := range v.settings() {
		angle := math.Pi/2 - 2*math.Pi*float64(s%v.notches)/float64(v.notches)
		p.disc(v.theme.Take, at.Add(polar(radius*0.82, angle)), radius*0.05)
		size := vg.Point{X: l.width(signed(s)) + 2, Y: l.cap() + 2}
		var corners []vg.Point
		sin, cos := math.Sincos(angle)
		half := (vg.Length(math.Abs(cos))*size.X + vg.Length(math.Abs(sin))*size.Y) / 2 // as seen from the plate
		for _, gap := range []vg.Length{4 * u, 13 * u} {
			corners = append(corners, at.Add(polar(radius+gap+half, angle)).Sub(size.Scale(0.5)))
		}
		if r, ok := room.place(size, corners); ok {
			p.text(signed(s), l, r.Min.X+1, r.Min.Y+1, 0)
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
