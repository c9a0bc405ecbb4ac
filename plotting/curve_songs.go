package plotting

import (
	"cmp"
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"
)

// songBar is a song ready to draw: its window within the tempo axis, and the lane
// above the axis in which it has room.
type songBar struct {
	name      string
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
	for _, song := range songs {
		if !isTempo(song.TempoBPM) || !tempos.contains(song.TempoBPM) || len(bars) >= mostSongs && !song.Picked {
			continue
		}
		bar := songBar{name: joined(clean(song.Name), signed(song.Setting)), bpm: song.TempoBPM, low: song.TempoBPM, high: song.TempoBPM, picked: song.Picked}
		if lo, hi := song.WindowBPM[0], song.WindowBPM[1]; lo >= 0 && lo < hi {
			bar.low, bar.high = tempos.clamp(lo), tempos.clamp(hi)
		}
		bars = append(bars, bar)
	}
	slices.SortStableFunc(bars, func(a, b songBar) int { return cmp.Or(cmp.Compare(a.low, b.low), cmp.Compare(a.bpm, b.bpm)) })
	dealLanes(bars, tempos.width()/60)
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

// laneHeight is the room a lane takes, in base sizes.
const laneHeight = 0.72

// withSongRoom returns the view with a lag axis that leaves room for the songs'
// lanes below the data, at most a third of the height.
func (v *curveView) withSongRoom(height, base vg.Length) *curveView {
	lanes := 0
	for _, bar := range v.songs {
		lanes = max(lanes, bar.lane+1)
	}
	if lanes == 0 {
		return v
	}
	share := min((vg.Length(lanes)*laneHeight+0.5)*base/max(height-4*base, 1), 1.0/3)
	with := *v
	with.lag.lo -= v.lag.width() * float64(share/(1-share))
	return &with
}

// laneY is the middle of a song's lane.
func (c *curvePainter) laneY(bar songBar) vg.Length {
	return c.Min.Y + (vg.Length(bar.lane)+0.75)*laneHeight*c.base
}

// songBars draws the tempo windows above the axis, and keeps labels off them.
func (c *curvePainter) songBars() {
	for _, bar := range c.songs {
		color := faded(c.theme.Settled, 0.75)
		if bar.picked {
			color = c.theme.Ink
			c.line(c.theme.Ink, 1, c.x(bar.bpm), c.laneY(bar), c.x(bar.bpm), c.y(0), 1.5, 2.5)
		}
		low, high, y := c.x(bar.low), c.x(bar.high), c.laneY(bar)
		c.songBar(color, low, high, c.x(bar.bpm), y, c.base)
		half := c.base * laneHeight / 2
		c.labels.mark(vg.Rectangle{Min: vg.Point{X: low, Y: y - half}, Max: vg.Point{X: high, Y: y + half}})
	}
}

// songBar is a bar from low to high with a notch at x.
func (p pen) songBar(c color.NRGBA, low, high, x, y, base vg.Length) {
	p.fillRect(c, low, y-base*0.14, high, y+base*0.14)
	p.line(c, 2, x, y-base*0.3, x, y+base*0.3)
}

// songNames names the songs right over, left or right of their bars, the one
// picked first, as far as there is room.
func (c *curvePainter) songNames() {
	for _, bar := range slices.Backward(c.songs) {
		l := lettering{size: c.base * 0.85, color: c.theme.Muted}
		if bar.picked {
			l = lettering{size: c.base, bold: true, color: c.theme.Ink}
		}
		name := l.fit(bar.name, c.Size().X/3)
		size := vg.Point{X: l.width(name) + 4, Y: l.cap() + 4}
		y := c.laneY(bar)
		var corners []vg.Point
		for _, up := range []vg.Length{0.36, 0.36 + laneHeight, 0.36 + 2*laneHeight, 0.36 + 4*laneHeight} {
			corners = append(corners, vg.Point{X: c.x(bar.bpm) - size.X/2, Y: y + up*c.base})
			if !bar.picked {
				break
			}
		}
		corners = append(corners,
			vg.Point{X: c.x(bar.high) + 2, Y: y - size.Y/2}, vg.Point{X: c.x(bar.low) - size.X - 2, Y: y - size.Y/2})
		if r, ok := c.labels.place(size, corners); ok {
			c.label(name, l, r)
		}
	}
}
