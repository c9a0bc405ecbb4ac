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
		label := signed(take.Setting)
		if take.far {
			label = joined(label, i18n.F("%s ms", decimal(take.LagMS, 0)))
		}
		c.put(label, l, true, func(size vg.Point) []vg.Point {
			corners := beside(c.at(take), c.markSize(take)+2, size)
			if !take.far {
				return corners
			}
			across := corners[7] // beside or across from where it points, so that nobody takes it for a neighbour's
			if take.LagMS < 0 {
				across = corners[6]
			}
			return []vg.Point{across, corners[0], corners[1]}
		})
	}
}

// put writes a label at the first free one of the corners for its size, if you like over a
// veil of background.
func (c *curvePainter) put(s string, l lettering, veil bool, corners func(size vg.Point) []vg.Point) {
	size := vg.Point{X: l.width(s) + 4, Y: l.cap() + 4}
	r, ok := c.labels.place(size, corners(size))
	if !ok {
		return
	}
	if veil {
		c.fillRect(sketch.Faded(c.theme.Paper, 0.7), r.Min.X, r.Min.Y, r.Max.X, r.Max.Y)
	}
	c.text(s, l, (r.Min.X+r.Max.X)/2, r.Min.Y+2, 0.5)
}

// besideUpright are the corners of a label of the given size on either side of a vertical
// line, at some heights.
func besideUpright(x vg.Length, size vg.Point, heights ...vg.Length) (corners []vg.Point) {
	for _, y := range heights {
		corners = append(corners, vg.Point{X: x + 2, Y: y}, vg.Point{X: x - size.X - 2, Y: y})
	}
	return corners
}

// zeroWords names the zero line and the tempo wanted.
func (c *curvePainter) zeroWords() {
	c.put(i18n.L("strikes together"), lettering{size: c.base, bold: true, color: c.theme.Text}, false, func(size vg.Point) (corners []vg.Point) {
		for _, y := range []vg.Length{c.y(0) + 2, c.y(0) - size.Y - 1} {
			for _, share := range []vg.Length{0, 1, 0.5, 0.25, 0.75} {
				corners = append(corners, vg.Point{X: c.Min.X + 3 + share*(c.Size().X-size.X-6), Y: y})
			}
		}
		return corners
	})
	c.labels.line([]vg.Point{{X: c.Min.X, Y: c.y(0)}, {X: c.Max.X, Y: c.y(0)}})
	if c.target > 0 {
		c.put(i18n.F("target %s", compact(c.target)), lettering{size: c.base, color: c.theme.Quiet}, true, func(size vg.Point) []vg.Point {
			heights := []vg.Length{c.Max.Y - size.Y - 2, c.Min.Y + 2, c.Max.Y - 2.5*size.Y}
			if len(c.takes) == 0 {
				heights = heights[1:] // the line ends below the invitation
			}
			return besideUpright(c.x(c.target), size, heights...)
		})
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
	last := len(law.points) - 1
	for last >= 0 && !c.lag.Contains(law.points[last].lag) {
		last--
	}
	if last < 0 || last == len(law.points)-1 || law.label == "" {
		return
	}
	l := c.lawLettering(law, c.base)
	c.put(l.fit(law.label, c.Size().X/3), l, true, func(size vg.Point) []vg.Point {
		return beside(vg.Point{X: c.x(law.points[last].bpm), Y: c.y(law.points[last].lag)}, 4, size)
	})
}

// pickedName names the song picked, beside the line up from its bar.
func (c *curvePainter) pickedName() {
	l := lettering{size: c.base, bold: true, color: c.theme.Text}
	for _, bar := range c.songs {
		if !bar.picked {
			continue
		}
		c.put(l.fit(bar.name, c.Size().X/3), l, true, func(size vg.Point) []vg.Point {
			var heights []vg.Length
			for y := c.Min.Y + c.strip + 2; y < c.Max.Y; y += c.base * 0.4 {
				heights = append(heights, y)
			}
			return besideUpright(c.x(bar.bpm), size, heights...)
		})
	}
}
