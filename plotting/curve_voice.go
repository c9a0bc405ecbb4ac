package plotting

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// voiceLook is how a voice looks: no two of the first twelve share the shape of
// the mark and the dashes both, whatever the colours. A mark's colour says how its
// lag lies, whatever the voice.
type voiceLook struct {
	name   string
	shape  int // of marks
	dashes []vg.Length
	line   color.NRGBA
}

// marks are the shapes of takes: corners, and the angle of the first; many corners
// are round. Of the same area, so that none outweighs another.
var marks = []struct {
	corners int
	turn    float64
	radius  vg.Length
}{
	{48, 0, 1}, {4, math.Pi / 4, 1.25}, {3, math.Pi / 2, 1.5}, {4, 0, 1.32}, {3, -math.Pi / 2, 1.5}, {6, 0, 1.12},
}

// dashes are the patterns of the laws' lines; none = drawn through.
var dashes = [][]vg.Length{nil, {7, 3}, {2, 2.5}, {9, 3, 2, 3}}

// findVoices finds the curve's voices, in the order in which takes and laws name them. A
// single one has the theme's colours.
func (v *curveView) findVoices(c Curve) {
	tones := v.theme.Voices()
	add := func(name string) {
		name, i := clean(name), len(v.voices)
		if !slices.ContainsFunc(v.voices, func(l voiceLook) bool { return l.name == name }) {
			v.voices = append(v.voices, voiceLook{name, i % len(marks), dashes[i%len(dashes)], tones[i%len(tones)]})
		}
	}
	for _, take := range c.Takes {
		add(take.Voice)
	}
	for _, law := range c.Laws {
		add(law.Voice)
	}
	if len(v.voices) == 1 {
		v.voices = nil
	}
}

// look returns what a voice looks like.
func (v *curveView) look(voice string) voiceLook {
	i := slices.IndexFunc(v.voices, func(l voiceLook) bool { return l.name == clean(voice) })
	if i < 0 {
		return voiceLook{line: v.theme.Mark}
	}
	return v.voices[i]
}

// mark draws the voice's mark, hollow or filled.
func (look voiceLook) mark(p pen, background, c color.NRGBA, at vg.Point, radius vg.Length, filled bool) {
	m := marks[look.shape]
	path := polygon(at, radius*m.radius, m.corners, m.turn)
	p.SetColor(background)
	if filled {
		p.SetColor(c)
	}
	p.Fill(path)
	p.SetLineStyle(draw.LineStyle{Color: c, Width: 2})
	p.Stroke(path)
}
