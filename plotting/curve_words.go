package plotting

import (
	"cmp"
	"image/color"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// keyEntry explains one mark.
type keyEntry struct {
	word string
	room float64 // for the sign before the word, in base sizes
	sign func(p pen, x, y, base float64)
}

func (v *curveView) keyEntries() (entries []keyEntry) {
	add := func(shown bool, word string, room float64, sign func(p pen, x, y, base float64)) {
		if shown {
			entries = append(entries, keyEntry{word, room, sign})
		}
	}
	for _, look := range v.voices {
		add(true, look.name, 2.8, func(p pen, x, y, base float64) {
			p.line(look.line, 2.2, x, y, x+base*2.3, y, look.dashes...)
			look.mark(p, v.theme.Paper, look.line, sketch.Pt{X: x + base*1.15, Y: y}, base*0.32, false)
		})
	}
	single := voiceLook{line: v.theme.Mark}
	if len(v.voices) > 0 {
		single.line = v.theme.Quiet
	}
	take := func(word string, ink color.NRGBA, tight bool, of func(drawnTake) bool) {
		add(slices.ContainsFunc(v.takes, of), word, 1.25, func(p pen, x, y, base float64) {
			single.mark(p, v.theme.Paper, ink, sketch.Pt{X: x + base*0.4, Y: y}, base*0.32, tight)
		})
	}
	take(i18n.L("late"), v.theme.Late, false, func(t drawnTake) bool { return !t.Converged && !t.Disputed && t.LagMS >= 0 })
	take(i18n.L("early"), v.theme.Early, false, func(t drawnTake) bool { return !t.Converged && !t.Disputed && t.LagMS < 0 })
	take(i18n.L("tight take"), v.theme.Tight, true, func(t drawnTake) bool { return t.Converged })
	add(slices.ContainsFunc(v.takes, func(t drawnTake) bool { return t.Disputed }), i18n.L("take not counted"), 1.25, func(p pen, x, y, base float64) {
		p.Cross(v.theme.Quiet, x+base*0.4, y, base*0.32, 2)
	})
	add(len(v.takes) > 0, i18n.L("95 %"), 1.25, func(p pen, x, y, base float64) {
		p.intervalBar(v.theme.Quiet, x+base*0.4, y-base*0.45, y+base*0.45, base)
	})
	add(len(v.hits) > 0, i18n.L("a sweep's hits, as set now"), 1.25, func(p pen, x, y, base float64) {
		p.Disc(sketch.Faded(v.theme.Late, 0.5), x+base*0.4, y, base*0.2)
	})
	add(len(v.songs) > 0, i18n.L("tempo window"), 1.9, func(p pen, x, y, base float64) {
		p.songBar(v.theme.Tight, x, x+base*1.4, x+base*0.7, y, base)
	})
	add(len(v.strokes) > 0, i18n.L("song at its setting"), 1.9, func(p pen, x, y, base float64) {
		p.line(single.line, 1.1, x, y-base*0.25, x+base*1.4, y+base*0.25)
		p.Disc(single.line, x+base*0.7, y, base*0.15)
	})
	return entries
}

// keyHeight is the height from which a key may take lines of its own: below it the
// curve needs the room more.
const keyHeight = 210

// key explains the marks: on the title's line if there is room, else below it, on
// as many lines as it takes, or not at all on a low figure. It returns the height it took beyond the title's.
func (v *curveView) key(p pen, base, used, titleHeight float64) float64 {
	l := lettering{size: base, color: v.theme.Quiet}
	entries := v.keyEntries()
	gap, line := base*1.3, l.cap()+base*0.9
	width, widest := -gap, 0.0
	for i := range entries {
		entries[i].word = l.fit(entries[i].word, p.w*0.6)
		w := entries[i].room*base + l.width(entries[i].word)
		width, widest = width+w+gap, max(widest, w)
	}
	start, y, lines := 0.0, titleHeight+l.cap(), 1.0
	beside := titleHeight > 0 && used+2*gap <= p.w-width
	switch {
	case len(entries) == 0 || widest > p.w || !beside && p.h < keyHeight:
		return 0
	case beside:
		start, y, lines = p.w-width, lettering{size: base * 1.25}.cap(), 0
	}
	x := start
	for _, entry := range entries {
		width := entry.room*base + l.width(entry.word)
		if x > start && x+width > p.w+0.5 {
			x, y, lines = start, y+line, lines+1
		}
		entry.sign(p, x, y-l.cap()/2, base)
		p.text(entry.word, l, x+entry.room*base, y, 0)
		x += width + gap
	}
	return line * lines
}

// takeLabels writes the settings, the latest take's first, while there is room.
func (c *curvePainter) takeLabels() {
	for _, take := range slices.Backward(c.takes) {
		l := lettering{size: c.base, color: c.theme.Text, bold: take.Current}
		label := calib.SettingWords(take.Setting)
		if take.Sweep {
			label = joined(i18n.L("sweep"), label)
		}
		if take.far {
			label = joined(label, i18n.F("%s ms", decimal(take.LagMS, 0)))
		}
		c.put(label, l, true, func(wide, high float64) []sketch.Pt {
			corners := beside(c.at(take), c.markSize(take)+2, wide, high)
			if !take.far {
				return corners
			}
			// Across from where it points or beside, so that nobody takes it for a neighbour's.
			if take.LagMS < 0 {
				return []sketch.Pt{corners[6], corners[0], corners[1], corners[2], corners[3]}
			}
			return []sketch.Pt{corners[7], corners[0], corners[1], corners[4], corners[5]}
		})
	}
}

// put writes a label at the first free one of the corners for its size, if you like over a
// veil of background.
func (c *curvePainter) put(s string, l lettering, veil bool, corners func(wide, high float64) []sketch.Pt) {
	wide, high := l.width(s)+4, l.cap()+4
	r, ok := c.labels.Place(wide, high, corners(wide, high)...)
	if !ok {
		return
	}
	if veil {
		c.Box(sketch.Faded(c.theme.Paper, 0.7), r.Min.X, r.Min.Y, r.Max.X, r.Max.Y)
	}
	c.text(s, l, (r.Min.X+r.Max.X)/2, r.Max.Y-2, 0.5)
}

// besideUpright are the corners of a label of the given width on either side of a vertical
// line, at some heights.
func besideUpright(x, wide float64, heights ...float64) (corners []sketch.Pt) {
	for _, y := range heights {
		corners = append(corners, sketch.Pt{X: x + 2, Y: y}, sketch.Pt{X: x - wide - 2, Y: y})
	}
	return corners
}

// zeroWords names the zero line and the tempo wanted.
func (c *curvePainter) zeroWords() {
	zero := c.y(0)
	c.put(i18n.L("strikes together"), lettering{size: c.base, bold: true, color: c.theme.Text}, false, func(wide, high float64) (corners []sketch.Pt) {
		for _, y := range []float64{zero - high - 2, zero + 1} {
			for _, share := range []float64{0, 1, 0.5, 0.25, 0.75} {
				corners = append(corners, sketch.Pt{X: 3 + share*(c.w-wide-6), Y: y})
			}
		}
		return corners
	})
	c.labels.Line(sketch.Pt{Y: zero}, sketch.Pt{X: c.w, Y: zero})
	if c.tempos.Contains(c.target) {
		c.put(i18n.F("target %s", compact(c.target)), lettering{size: c.base, color: c.theme.Quiet}, true, func(wide, high float64) []sketch.Pt {
			heights := []float64{2, c.h - high - 2, 1.5 * high}
			if c.empty {
				heights = heights[1:] // the line ends below the invitation
			}
			return besideUpright(c.x(c.target), wide, heights...)
		})
	}
}

// lawEnd is where a law's line leaves the right edge, and its label.
type lawEnd struct {
	law sampledLaw
	y   float64
}

// lawLabels writes the laws' labels at their right ends, apart from each other:
// the current one in any case, of the others as many as fit. A law that leaves
// the axis before its right end is labelled where it does, if there is room.
func (c *curvePainter) lawLabels() {
	gap := c.base * 1.25
	ends := c.lawEnds(int(c.h / gap))
	at := make([]float64, len(ends))
	for i, end := range ends {
		at[i] = end.y
	}
	spread(at, gap, 0, c.h)
	for i, end := range ends {
		l := c.lawLettering(end.law, c.base)
		s := l.fit(end.law.label, c.margin-c.base*0.9)
		x := c.w + c.base*0.8
		c.line(l.color, 0.8, c.w+1, end.y, x-2, at[i])
		c.text(s, l, x, at[i]+l.cap()/2, 0)
	}
	for _, law := range slices.Backward(c.laws) {
		c.exitLabel(law)
	}
}

// lawEnds returns at most so many ends, from above, the current law's among them.
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
	c.put(l.fit(law.label, c.w/3), l, true, func(wide, high float64) []sketch.Pt {
		return beside(sketch.Pt{X: c.x(law.points[last].bpm), Y: c.y(law.points[last].lag)}, 4, wide, high)
	})
}

// pickedName names the song picked, beside the line up from its bar.
func (c *curvePainter) pickedName() {
	l := lettering{size: c.base, bold: true, color: c.theme.Text}
	last := len(c.songs) - 1
	if last < 0 || !c.songs[last].picked {
		return
	}
	c.put(l.fit(c.songs[last].name, c.w/3), l, true, func(wide, high float64) []sketch.Pt {
		var heights []float64
		for y := c.h - c.strip - 2 - high; y > 0; y -= c.base * 0.4 {
			heights = append(heights, y)
		}
		return besideUpright(c.x(c.songs[last].bpm), wide, heights...)
	})
}
