package plotting

import (
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// songStroke is a voice's law at a song's setting, as far as the song's tempo
// window goes, and the point on it at the song's own tempo.
type songStroke struct {
	law    sampledLaw
	at     lawPoint
	song   int // its index
	picked bool
}

const (
	strokeSamples = 24
	mostStrokes   = 600
	// Without a window a stroke goes so far to either side of the song's tempo.
	bareStroke = 0.03
)

// songStrokes returns the strokes of the songs that have a bar, the one picked last.
func (v *curveView) songStrokes(c Curve) []songStroke {
	var strokes []songStroke
	for _, bar := range slices.Backward(v.songs) { // the one picked first, which has room in any case
		window := span{Lo: bar.low, Hi: bar.high}
		if window.Width() <= 0 {
			window = span{Lo: v.tempos.Clamp(bar.bpm * (1 - bareStroke)), Hi: v.tempos.Clamp(bar.bpm * (1 + bareStroke))}
		}
		for _, law := range c.Songs[bar.index].Laws {
			s := songStroke{law: sampleLaw(law, window, strokeSamples), song: bar.index, picked: bar.picked}
			at := sampleLaw(law, span{Lo: bar.bpm, Hi: bar.bpm}, 1).points
			if len(s.law.points) < 2 || len(at) == 0 || len(strokes) >= mostStrokes {
				continue
			}
			s.law.look, s.at = v.look(law.Voice), at[0]
			strokes = append(strokes, s)
		}
	}
	slices.Reverse(strokes)
	return strokes
}

// pickedLaws are the laws of the song picked, to be drawn at every tempo; those
// at the setting where the plate stands are drawn anyhow. One song is picked, the
// first that says so.
func (c Curve) pickedLaws() []CurveLaw {
	var laws []CurveLaw
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

// stroke draws a song's law within its window, and its point.
func (c *curvePainter) stroke(s songStroke) {
	style := draw.LineStyle{Color: s.law.look.line, Width: 1.1, Dashes: s.law.look.dashes}
	line, _ := c.lawPoints(s.law)
	if s.picked {
		style.Width, style.Dashes = 3.4, nil
	}
	c.StrokeLines(style, c.ClipLinesXY(line)...)
	if at := c.strokeAt(s); c.lag.Contains(s.at.lag) {
		c.songPoint(s.law.look, at, c.base, s.picked)
	}
}

func (c *curvePainter) strokeAt(s songStroke) vg.Point {
	return vg.Point{X: c.x(s.at.bpm), Y: c.y(s.at.lag)}
}

// songPoint is a dot; the one picked is larger, in a ring of ink.
func (c *curvePainter) songPoint(look voiceLook, at vg.Point, base vg.Length, picked bool) {
	if !picked {
		c.disc(look.line, at, base*0.15)
		return
	}
	c.disc(c.theme.Paper, at, base*0.42)
	c.ring(c.theme.Text, 1.6, at, base*0.42)
	c.disc(look.line, at, base*0.22)
}
