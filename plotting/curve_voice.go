package plotting

import (
	"image/color"
	"math"

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

// looks finds the curve's voices, in the order in which takes and laws name them,
// and returns what each looks like. A single voice has the theme's colours.
func (v *curveView) looks(c Curve) func(voice string) voiceLook {
	var names []string
	for _, take := range c.Takes {
		names = append(names, take.Voice)
	}
	for _, law := range c.Laws {
		names = append(names, law.Voice)
	}
	single := voiceLook{line: v.theme.Mark}
	looks := map[string]voiceLook{}
	tones := v.theme.Voices()
	var found []voiceLook
	for _, name := range names {
		name = voiceName(name, c.Voice)
		if _, known := looks[name]; known {
			continue
		}
		i := len(found)
		looks[name] = voiceLook{name, i % len(marks), dashes[i%len(dashes)], tones[i%len(tones)]}
		found = append(found, looks[name])
	}
	if len(found) < 2 {
		return func(string) voiceLook { return single }
	}
	v.voices = found
	return func(name string) voiceLook { return looks[voiceName(name, c.Voice)] }
}

func voiceName(name, otherwise string) string {
	if name == "" {
		name = otherwise
	}
	return clean(name)
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
