package plotting

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
)

// keyEntry explains one mark.
type keyEntry struct {
	word string
	room vg.Length // for the sign before the word, in base sizes
	sign func(p pen, at vg.Point, base vg.Length)
}

func (v *curveView) keyEntries() (entries []keyEntry) {
	add := func(shown bool, word string, room vg.Length, sign func(p pen, at vg.Point, base vg.Length)) {
		if shown {
			entries = append(entries, keyEntry{word, room, sign})
		}
	}
	for _, look := range v.voices {
		add(true, look.name, 2.8, func(p pen, at vg.Point, base vg.Length) {
			p.StrokeLines(draw.LineStyle{Color: look.line, Width: 2.2, Dashes: look.dashes}, []vg.Point{at, {X: at.X + base*2.3, Y: at.Y}})
			look.mark(p, v.theme.Paper, look.line, at.Add(vg.Point{X: base * 1.15}), base*0.32, false)
		})
	}
	single := voiceLook{line: v.theme.Mark}
	if len(v.voices) > 0 {
		single.line = v.theme.Quiet
	}
	take := func(word string, ink color.NRGBA, tight bool, of func(drawnTake) bool) {
		add(slices.ContainsFunc(v.takes, of), word, 1.25, func(p pen, at vg.Point, base vg.Length) {
			single.mark(p, v.theme.Paper, ink, at.Add(vg.Point{X: base * 0.4}), base*0.32, tight)
		})
	}
	take(i18n.L("late"), v.theme.Late, false, func(t drawnTake) bool { return !t.Converged && t.LagMS >= 0 })
	take(i18n.L("early"), v.theme.Early, false, func(t drawnTake) bool { return !t.Converged && t.LagMS < 0 })
	take(i18n.L("tight take"), v.theme.Tight, true, func(t drawnTake) bool { return t.Converged })
	add(len(v.takes) > 0, i18n.L("95 %"), 1.25, func(p pen, at vg.Point, base vg.Length) {
		intervalBar(p, v.theme.Quiet, at.X+base*0.4, at.Y-base*0.45, at.Y+base*0.45, base)
	})
	add(len(v.songs) > 0, i18n.L("tempo window"), 1.9, func(p pen, at vg.Point, base vg.Length) {
		p.songBar(v.theme.Tight, at.X, at.X+base*1.4, at.X+base*0.7, at.Y, base)
	})
	add(len(v.strokes) > 0, i18n.L("song at its setting"), 1.9, func(p pen, at vg.Point, base vg.Length) {
		p.line(single.line, 1.1, at.X, at.Y+base*0.25, at.X+base*1.4, at.Y-base*0.25)
		p.disc(single.line, at.Add(vg.Point{X: base * 0.7}), base*0.15)
	})
	return entries
}

// keyHeight is the height from which a key may take lines of its own: below it the
// curve needs the room more.
const keyHeight = 210

// key explains the marks: on the title's line if there is room, else below it, on
// as many lines as it takes, or not at all on a low figure. It returns the height it took beyond the title's.
func (v *curveView) key(p pen, base, used, titleHeight vg.Length) vg.Length {
	l := lettering{size: base, color: v.theme.Quiet}
	entries := v.keyEntries()
	gap, line := base*1.3, l.cap()+base*0.9
	width, widest := -gap, vg.Length(0)
	for i := range entries {
		entries[i].word = l.fit(entries[i].word, p.Size().X/3)
		w := entries[i].room*base + l.width(entries[i].word)
		width, widest = width+w+gap, max(widest, w)
	}
	start, y, lines := p.Min.X, p.Max.Y-titleHeight-l.cap(), vg.Length(1)
	beside := titleHeight > 0 && used+2*gap <= p.Max.X-width
	switch {
	case len(entries) == 0 || widest > p.Size().X || !beside && p.Size().Y < keyHeight:
		return 0
	case beside:
		start, y, lines = p.Max.X-width, p.Max.Y-lettering{size: base * 1.25}.cap(), 0
	}
	x := start
	for _, entry := range entries {
		width := entry.room*base + l.width(entry.word)
		if x > start && x+width > p.Max.X+0.5 {
			x, y, lines = start, y-line, lines+1
		}
		entry.sign(p, vg.Point{X: x, Y: y + l.cap()/2}, base)
		p.text(entry.word, l, x+entry.room*base, y, 0)
		x += width + gap
	}
	return line * lines
}
