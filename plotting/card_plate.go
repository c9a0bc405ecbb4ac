package plotting

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// platePanel draws the index plate over the words about it.
func (v cardPage) platePanel(p pen) {
	radius := p.Size().X/2 - 27*v.unit
	at := vg.Point{X: p.Center().X, Y: p.Center().Y + 26*v.unit}
	v.plate(p, at, radius)
	v.plateWords(p, lettering{size: 9 * v.unit, color: inks.Text}, p.Center().X, at.Y-radius-46*v.unit, 0.5)
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

// plate draws the plate as the window's dial has it, with a dot at every setting.
func (v cardPage) plate(p pen, at vg.Point, radius vg.Length) {
	u := v.unit
	on := p.sketch()
	x, y, r := float64(at.X-p.Min.X), float64(p.Max.Y-at.Y), float64(radius)
	plate := sketch.Plate{Notches: v.notches}
	plate.Draw(on, inks, x, y, r, float64(u)*0.7)
	on.Ring(inks.Text, x, y, r*0.14, 1.2*float64(u))
	index := at.Add(vg.Point{Y: radius + 2*u})
	p.FillPolygon(inks.Text, []vg.Point{index, index.Add(vg.Point{X: -4 * u, Y: 8 * u}), index.Add(vg.Point{X: 4 * u, Y: 8 * u})})
	p.text("0", lettering{size: 9 * u, bold: true, color: inks.Text}, index.X, index.Y+10*u, 0.5)
	plate.Move(on, inks, x, y, r*0.58, r*0.07, -0.3*math.Pi, 0.32*math.Pi)
	p.text("+", lettering{size: radius * 0.36, bold: true, color: inks.Mark}, at.X, at.Y+radius*0.28, 0.5)
	v.settingNotches(p, plate, at, radius)
}

// settingNotches dots the notch of every setting and numbers those that have room.
func (v cardPage) settingNotches(p pen, plate sketch.Plate, at vg.Point, radius vg.Length) {
	if v.notches == 0 {
		return
	}
	u := v.unit
	room := placerOn(p.Rectangle)
	room.around(at.Add(vg.Point{Y: radius + 10*u}), 9*u)
	l := lettering{size: 9 * u, bold: true, color: inks.Text}
	for _, s := range v.settings() {
		angle := math.Pi/2 - plate.Angle(float64(s%v.notches))
		p.disc(inks.Mark, at.Add(polar(radius*0.82, angle)), radius*0.05)
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
