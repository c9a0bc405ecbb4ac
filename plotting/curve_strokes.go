package plotting

import (
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// songStroke is a voice's law at a song's setting, as far as the song's tempo
// window goes, and the point on it at the song's own tempo.
type songStroke struct {
	sampledLaw
	at   lawPoint
	song int // its index
}

const (
	strokeSamples = 24
	mostStrokes   = 600
	// Without a window a stroke goes so far to either side of the song's tempo.
	bareStroke = 0.03
)

// songStrokes returns the strokes of the songs that have a bar, the one picked last.
func (v *curveView) songStrokes(c Curve) (strokes []songStroke) {
	for _, bar := range slices.Backward(v.songs) { // the one picked first, which has room in any case
		window := span{Lo: bar.low, Hi: bar.high}
		if window.Width() <= 0 {
			window = span{Lo: v.tempos.Clamp(bar.bpm * (1 - bareStroke)), Hi: v.tempos.Clamp(bar.bpm * (1 + bareStroke))}
		}
		for _, law := range c.Songs[bar.index].Laws {
			s, at := v.sampleLaw(law, window, strokeSamples), v.sampleLaw(law, span{Lo: bar.bpm, Hi: bar.bpm}, 1).points
			if len(s.points) > 1 && len(at) > 0 && len(strokes) < mostStrokes {
				s.picked = bar.picked
				strokes = append(strokes, songStroke{s, at[0], bar.index})
			}
		}
	}
	slices.Reverse(strokes)
	return strokes
}

// pickedLaws are the laws of the song picked, to be drawn at every tempo; those
// at the setting where the plate stands are drawn anyhow. One song is picked, the
// first that says so.
func (c Curve) pickedLaws() (laws []CurveLaw) {
	i := slices.IndexFunc(c.Songs, func(s CurveSong) bool { return s.Picked })
	if i < 0 {
		return nil
	}
	for _, law := range c.Songs[i].Laws[:min(len(c.Songs[i].Laws), mostLaws)] {
		law.Setting = c.Songs[i].Setting
		stands := func(l CurveLaw) bool { return l.Current && l.Voice == law.Voice && l.Setting == law.Setting }
		if !slices.ContainsFunc(c.Laws, stands) {
			laws = append(laws, law)
		}
	}
	return laws
}

// stroke draws a song's law within its window, and its point: a dot, or for the song picked
// a larger one in a ring of ink.
func (c *curvePainter) stroke(s songStroke) {
	style := draw.LineStyle{Color: s.look.line, Width: 1.1, Dashes: s.look.dashes}
	if s.picked {
		style.Width, style.Dashes = 3.4, nil
	}
	line, _ := c.lawPoints(s.sampledLaw)
	c.StrokeLines(style, c.ClipLinesXY(line)...)
	at := c.strokeAt(s)
	switch {
	case !c.lag.Contains(s.at.lag):
	case s.picked:
		c.disc(c.theme.Paper, at, c.base*0.42)
		c.ring(c.theme.Text, 1.6, at, c.base*0.42)
		c.disc(s.look.line, at, c.base*0.22)
	default:
		c.disc(s.look.line, at, c.base*0.15)
	}
}

func (c *curvePainter) strokeAt(s songStroke) vg.Point {
	return vg.Point{X: c.x(s.at.bpm), Y: c.y(s.at.lag)}
}
