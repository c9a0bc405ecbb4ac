package plotting

import (
	"cmp"
	"image/color"
	"slices"

	"lagwright/calib"
	"lagwright/plotting/sketch"
)

// songBar is a song ready to draw: its window within the tempo axis, and the lane
// above the axis in which it has room.
type songBar struct {
	index     int    // of the song
	name      string // with the setting
	setting   string
	bpm       float64
	low, high float64
	lane      int
	picked    bool
}

// mostLanes is how many bars may lie over each other before they share a lane.
const mostLanes = 5

// songBars returns the songs' bars, slowest first, the one picked last. A song
// whose tempo is none is left out; without a window its bar is a notch alone.
func songBars(songs []CurveSong, tempos span) []songBar {
	var bars []songBar
	for i, song := range songs {
		if !isTempo(song.TempoBPM) || !tempos.Contains(song.TempoBPM) || len(bars) >= mostSongs && !song.Picked {
			continue
		}
		setting := calib.SettingWords(song.Setting)
		bar := songBar{i, joined(clean(song.Name), setting), setting, song.TempoBPM, song.TempoBPM, song.TempoBPM, 0, song.Picked}
		if lo, hi := song.WindowBPM[0], song.WindowBPM[1]; lo >= 0 && lo < hi {
			bar.low, bar.high = tempos.Clamp(lo), tempos.Clamp(hi)
		}
		bars = append(bars, bar)
	}
	slices.SortStableFunc(bars, func(a, b songBar) int { return cmp.Or(cmp.Compare(a.low, b.low), cmp.Compare(a.bpm, b.bpm)) })
	dealLanes(bars, tempos.Width()/60)
	slices.SortStableFunc(bars, func(a, b songBar) int { return order(a.picked, b.picked) })
	return bars
}

// dealLanes puts each bar, in ascending order, into the lowest lane that is free,
// with air between neighbours; where none is, into the one that is free soonest.
func dealLanes(bars []songBar, air float64) {
	var ends []float64
	for i := range bars {
		lane := slices.IndexFunc(ends, func(end float64) bool { return end+air <= bars[i].low })
		if lane < 0 && len(ends) < mostLanes {
			lane, ends = len(ends), append(ends, 0)
		} else if lane < 0 {
			lane = slices.Index(ends, slices.Min(ends))
		}
		bars[i].lane = lane
		ends[lane] = max(ends[lane], bars[i].high)
	}
}

// A lane's height in base sizes: of a bar alone, and with a name over it.
const (
	bareLane  = 0.72
	namedLane = 1.5
)

// songRoom returns the height of a lane and of the strip of all lanes, for axes of
// the given height: lanes with names where that takes no more than a fifth of it.
func (v *curveView) songRoom(height, base float64) (lane, strip float64) {
	lanes := 0.0
	for _, bar := range v.songs {
		lanes = max(lanes, float64(bar.lane)+1)
	}
	if lanes == 0 {
		return 0, 0
	}
	lane = base * namedLane
	if lanes*lane > height/5 {
		lane = min(base*bareLane, height/3/lanes)
	}
	return lane, lanes*lane + base*0.4
}

// laneY is the middle of the bar of a song.
func (c *curvePainter) laneY(bar songBar) float64 {
	return c.h - float64(bar.lane)*c.lane - c.base*0.5
}

// songStrip draws the tempo windows in a strip of their own on the tempo axis, and
// keeps labels off it. Over a bar stands name and setting where all of them have
// room, else the setting, and nothing where the lanes are low.
func (c *curvePainter) songStrip() {
	if c.strip == 0 {
		return
	}
	top := c.h - c.strip
	c.line(c.theme.Quiet, 0.8, 0, top, c.w, top)
	c.labels.Mark(sketch.Rect{Min: sketch.Pt{Y: top}, Max: sketch.Pt{X: c.w, Y: c.h}})
	l := lettering{size: c.base * 0.8}
	long := slices.ContainsFunc(c.songs, func(bar songBar) bool { return l.width(bar.name) > c.x(bar.high)-c.x(bar.low) })
	for _, bar := range c.songs {
		switch {
		case c.lane < c.base:
			c.song(bar, "")
		case long:
			c.song(bar, bar.setting)
		default:
			c.song(bar, bar.name)
		}
	}
}

// song draws a song's bar and a word over it.
func (c *curvePainter) song(bar songBar, word string) {
	color := c.theme.Tight
	l := lettering{size: c.base * 0.8, color: c.theme.Quiet}
	low, high, x, y := c.x(bar.low), c.x(bar.high), c.x(bar.bpm), c.laneY(bar)
	if bar.picked {
		color, l.color, l.bold = c.theme.Text, c.theme.Text, true
		top := min(c.zero(), c.pickedTop())
		c.line(c.theme.Text, 1, x, y, x, top, 1.5, 2.5)
		c.labels.Line(sketch.Pt{X: x, Y: y}, sketch.Pt{X: x, Y: top})
	}
	c.songBar(color, low, high, x, y, c.base)
	if half := l.width(word) / 2; half <= (high-low)/2 {
		at := min(max(x, low+half), high-half)
		c.text(word, l, at, y-c.base*0.46, 0.5)
	}
}

// pickedTop is the highest point of the song picked within the axes.
func (c *curvePainter) pickedTop() float64 {
	top := c.h
	for _, s := range c.strokes {
		if s.picked && c.lag.Contains(s.at.lag) {
			top = min(top, c.strokeAt(s).Y)
		}
	}
	return top
}

// songBar is a bar from low to high with a notch at x.
func (p pen) songBar(c color.NRGBA, low, high, x, y, base float64) {
	p.Box(c, low, y-base*0.14, high, y+base*0.14)
	p.line(c, 2, x, y-base*0.3, x, y+base*0.3)
}

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

// songStroke draws a song's law within its window, and its point: a dot, or for the song picked
// a larger one in a ring of ink.
func (c *curvePainter) songStroke(s songStroke) {
	width, dashes := 1.1, s.look.dashes
	if s.picked {
		width, dashes = 3.4, nil
	}
	line, _ := c.lawPoints(s.sampledLaw)
	c.stroke(s.look.line, width, dashes, line)
	at := c.strokeAt(s)
	switch {
	case !c.lag.Contains(s.at.lag):
	case s.picked:
		c.Disc(c.theme.Paper, at.X, at.Y, c.base*0.42)
		c.Ring(c.theme.Text, at.X, at.Y, c.base*0.42, 1.6)
		c.Disc(s.look.line, at.X, at.Y, c.base*0.22)
	default:
		c.Disc(s.look.line, at.X, at.Y, c.base*0.15)
	}
}

func (c *curvePainter) strokeAt(s songStroke) sketch.Pt {
	return sketch.Pt{X: c.x(s.at.bpm), Y: c.y(s.at.lag)}
}
