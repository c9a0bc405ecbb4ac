package plotting

import (
	"cmp"
	"slices"

	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// takeLabels writes the settings, the latest take's first, while there is room.
func (c *curvePainter) takeLabels() {
	for _, take := range slices.Backward(c.takes) {
		l := lettering{size: c.base, color: c.theme.Text, bold: take.Current}
		label := take.Label
		if take.far {
			label = joined(label, i18n.F("%s ms", decimal(take.LagMS, 0)))
		}
		label = l.fit(label, c.Size().X/3)
		size := vg.Point{X: l.width(label) + 3, Y: l.cap() + 4}
		corners := beside(c.at(take), c.markSize(take)+2, size)
		if take.far { // beside or across from where it points, so that nobody takes it for a neighbour's
			across := corners[7]
			if take.LagMS < 0 {
				across = corners[6]
			}
			corners = []vg.Point{across, corners[0], corners[1]}
		}
		if r, ok := c.labels.place(size, corners); ok {
			c.label(label, l, r)
		}
	}
}

// label writes s in the room placed for it, over a veil of background.
func (c *curvePainter) label(s string, l lettering, r vg.Rectangle) {
	c.fillRect(sketch.Faded(c.theme.Paper, 0.7), r.Min.X, r.Min.Y, r.Max.X, r.Max.Y)
	c.text(s, l, (r.Min.X+r.Max.X)/2, r.Min.Y+2, 0.5)
}

// zeroWords names the zero line and the tempo wanted.
func (c *curvePainter) zeroWords() {
	ink := lettering{size: c.base, bold: true, color: c.theme.Text}
	s := wordsTogether()
	room := vg.Point{X: ink.width(s) + 4, Y: ink.cap() + 4}
	zero := c.y(0)
	var corners []vg.Point
	for _, y := range []vg.Length{zero + 2, zero - room.Y - 1} {
		free := c.Size().X - room.X - 6
		for _, share := range []vg.Length{0, 1, 0.5, 0.25, 0.75} {
			x := c.Min.X + 3 + share*free
			corners = append(corners, vg.Point{X: x, Y: y})
		}
	}
	if r, ok := c.labels.place(room, corners); ok {
		c.text(s, ink, r.Min.X+2, r.Min.Y+2, 0)
	}
	if c.target > 0 {
		c.targetWord(lettering{size: c.base, color: c.theme.Quiet})
	}
}

func (c *curvePainter) targetWord(l lettering) {
	s := i18n.F("target %s", compact(c.target))
	size := vg.Point{X: l.width(s) + 4, Y: l.cap() + 4}
	x := c.x(c.target)
	var corners []vg.Point
	heights := []vg.Length{c.Max.Y - size.Y - 2, c.Min.Y + 2, c.Max.Y - 2.5*size.Y}
	if len(c.takes) == 0 {
		heights = heights[1:] // the line ends below the invitation
	}
	for _, y := range heights {
		corners = append(corners, vg.Point{X: x + 2, Y: y}, vg.Point{X: x - size.X - 2, Y: y})
	}
	if r, ok := c.labels.place(size, corners); ok {
		c.label(s, l, r)
	}
}

// lawEnd is where a law's line leaves the right edge, and its label.
type lawEnd struct {
	law sampledLaw
	y   vg.Length
}

// lawLabels writes the laws' labels at their right ends, apart from each other:
// the current one in any case, of the others as many as fit. A law that leaves
// the axis before its right end is labelled where it does, if there is room.
func (c *curvePainter) lawLabels() {
	gap := c.base * 1.25
	ends := c.lawEnds(int(c.Size().Y / gap))
	at := make([]vg.Length, len(ends))
	for i, end := range ends {
		at[i] = end.y
	}
	spread(at, gap, c.Min.Y, c.Max.Y)
	for i, end := range ends {
		l := c.lawLettering(end.law, c.base)
		s := l.fit(end.law.label, c.margin-c.base*0.9)
		x := c.Max.X + c.base*0.8
		c.line(l.color, 0.8, c.Max.X+1, end.y, x-2, at[i])
		c.text(s, l, x, at[i]-l.cap()/2, 0)
	}
	for _, law := range slices.Backward(c.laws) {
		c.exitLabel(law)
	}
}

// lawEnds returns at most so many ends, ascending, the current law's among them.
func (c *curvePainter) lawEnds(most int) []lawEnd {
	var ends []lawEnd
	for _, law := range c.laws {
		last := law.points[len(law.points)-1]
		if c.lag.Contains(last.lag) && law.label != "" {
			ends = append(ends, lawEnd{law, c.y(last.lag)})
		}
	}
	slices.SortStableFunc(ends, func(a, b lawEnd) int { return cmp.Compare(a.y, b.y) })
	return evenly(ends, most, func(e lawEnd) bool { return e.law.mustShow() })
}

// exitLabel labels a law that leaves the axis at its top or bottom.
func (c *curvePainter) exitLabel(law sampledLaw) {
	last := -1
	for i, p := range law.points {
		if c.lag.Contains(p.lag) {
			last = i
		}
	}
	if last < 0 || last == len(law.points)-1 || law.label == "" {
		return
	}
	l := c.lawLettering(law, c.base)
	s := l.fit(law.label, c.Size().X/3)
	size := vg.Point{X: l.width(s) + 4, Y: l.cap() + 4}
	at := vg.Point{X: c.x(law.points[last].bpm), Y: c.y(law.points[last].lag)}
	if r, ok := c.labels.place(size, beside(at, 4, size)); ok {
		c.label(s, l, r)
	}
}

// invitation fills an empty curve with a sentence.
func (c *curvePainter) invitation() {
	c.sentence(emptyCurve(), lettering{size: c.base * 1.2, color: c.theme.Text}, vg.Point{X: c.Center().X, Y: (c.y(0) + c.Max.Y) / 2})
}
