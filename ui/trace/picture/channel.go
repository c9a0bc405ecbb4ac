package picture

import (
	"encoding/binary"
	"image/color"
	"math"
	"strconv"

	"lagwright/calib/i18n"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
	"lagwright/plotting/wave"
	"lagwright/ui/look/ink"
)

// gainText says the gain where it is not 1.
func gainText(p *wave.Pyramid) string {
	switch g := p.Gain(); {
	case g >= 10:
		return " ×" + strconv.FormatFloat(g, 'f', 0, 64)
	case g >= 1.05:
		return " ×" + i18n.Decimal(strconv.FormatFloat(g, 'f', 1, 64))
	}
	return ""
}

// channel draws the sound of one channel after the other.
type channel struct {
	pen     *ink.Pen
	columns []wave.Range
	heights []float64
	shades  []uint32
}

// drawWaves draws both channels away from the lane.
func (p *Picture) drawWaves(f *frame, m *mirror.Trace) {
	p.Fault = nil
	tk := f.Take
	if err := p.channel.drawWave(f, tk.Reference, f.inks.Reference, m.LaneTop, m.Top, tk.Reference.Gain()); err != nil {
		p.Fault = err
	}
	if err := p.channel.drawWave(f, tk.Voice, f.inks.Voice, m.LaneBottom, m.Bottom, tk.Voice.Gain()); err != nil {
		p.Fault = err
	}
}

// drawWave draws one channel's size from the line at foot towards limit. Both
// swings of the wave are drawn to the same side: what counts is when it starts.
func (p *channel) drawWave(f *frame, pyr *wave.Pyramid, c color.Color, foot, limit, gain float64) error {
	p.heights = resized(p.heights, f.w)
	clear(p.heights)
	perColumn := f.View.Span() * pyr.Rate() / float64(f.w)
	from := f.View.From * pyr.Rate()
	room := math.Abs(limit-foot) * f.scale
	var err error
	if perColumn < 1 {
		err = p.interpolate(pyr, from, perColumn)
	} else {
		err = p.envelope(pyr, from, perColumn)
	}
	if err != nil || perColumn <= 0 {
		return err
	}
	for i, h := range p.heights {
		p.heights[i] = min(room, h*gain*room)
	}
	p.fill(f, c, int(math.Round(foot*f.scale)), limit < foot, int(room))
	if 1/perColumn >= sampleSpacing*f.scale {
		return p.drawSamples(f, pyr, c, foot, limit-foot, gain)
	}
	return nil
}

// resized returns s with n elements.
func resized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// envelope fills heights with the extremes of each column.
func (p *channel) envelope(pyr *wave.Pyramid, from, perColumn float64) error {
	p.columns = resized(p.columns, len(p.heights))
	err := pyr.Columns(p.columns, from, perColumn)
	for i, r := range p.columns {
		p.heights[i] = r.Height()
	}
	return err
}

// interpolate fills heights between samples that are further apart than a
// column.
func (p *channel) interpolate(pyr *wave.Pyramid, from, perColumn float64) error {
	last := from + perColumn*float64(len(p.heights))
	samples, start, err := pyr.Samples(int64(math.Floor(from)), int64(math.Ceil(last))+2)
	if err != nil {
		return err
	}
	for i := range p.heights {
		at := from + (float64(i)+0.5)*perColumn - float64(start)
		k := int(math.Floor(at))
		if k < 0 || k+1 >= len(samples) {
			continue
		}
		share := at - float64(k)
		p.heights[i] = math.Abs(float64(samples[k])*(1-share) + float64(samples[k+1])*share)
	}
	return nil
}

// fill paints the heights (device pixels) row by row from foot, so that memory
// is written in order; the tint deepens away from the lane and ends in an edge.
func (p *channel) fill(f *frame, c color.Color, foot int, up bool, room int) {
	p.shade(f, c, room)
	for row := range room {
		y := foot + row
		if up {
			y = foot - 1 - row
		}
		if y < 0 || y >= f.h {
			return
		}
		p.fillRow(p.pen.Img.Pix[y*p.pen.Img.Stride:], float64(row), p.shades[row])
	}
	p.edge(f, c, foot, up, room)
}

// shade computes the tint of each row.
func (p *channel) shade(f *frame, c color.Color, room int) {
	p.shades = resized(p.shades, room)
	for row := range p.shades {
		m := sketch.Mix(f.inks.Paper, c, 0.38+0.32*float64(row)/float64(room))
		p.shades[row] = pack(m)
	}
}

// pack lays an opaque colour out as image.RGBA keeps it.
func pack(c color.NRGBA) uint32 {
	return uint32(c.R) | uint32(c.G)<<8 | uint32(c.B)<<16 | uint32(c.A)<<24
}

// fillRow sets the pixels of the columns that Reach above row.
func (p *channel) fillRow(pix []byte, row float64, shade uint32) {
	for x, h := range p.heights {
		if h > row {
			binary.LittleEndian.PutUint32(pix[4*x:], shade)
		}
	}
}

// longestEdge bounds how far, in device pixels, an edge runs down a cliff between
// two columns, so that a dense signal keeps its tint.
const longestEdge = 12

// edge draws the outline in the full colour, joined from column to column.
func (p *channel) edge(f *frame, c color.Color, foot int, up bool, room int) {
	full, line := pack(sketch.Mix(f.inks.Paper, c, 1)), pack(sketch.Mix(f.inks.Paper, c, 0.75))
	for x, h := range p.heights {
		top := min(room-1, max(0, int(math.Ceil(h))-1))
		low := top
		if x > 0 {
			low = min(low, int(p.heights[x-1]))
		}
		if x+1 < len(p.heights) {
			low = min(low, int(p.heights[x+1]))
		}
		shade := full
		if top == 0 {
			shade = line
		}
		for row := max(low, top-longestEdge); row <= top; row++ {
			p.set(x, foot, row, up, shade)
		}
	}
}

// set writes one pixel row pixels away from foot.
func (p *channel) set(x, foot, row int, up bool, shade uint32) {
	y := foot + row
	if up {
		y = foot - 1 - row
	}
	if y >= 0 && y < p.pen.Img.Rect.Dy() {
		binary.LittleEndian.PutUint32(p.pen.Img.Pix[y*p.pen.Img.Stride+4*x:], shade)
	}
}

// sampleSpacing is how far apart samples must lie, in device-independent pixels,
// to be drawn one by one.
const sampleSpacing = 7

// drawSamples draws each sample as a dot: full where the wave is positive, hollow
// where it is negative.
func (p *channel) drawSamples(f *frame, pyr *wave.Pyramid, c color.Color, foot, reach, gain float64) error {
	rate := pyr.Rate()
	samples, start, err := pyr.Samples(int64(f.View.From*rate), int64(f.View.To*rate)+2)
	if err != nil {
		return err
	}
	w, _ := p.pen.Size()
	for k, s := range samples {
		x := f.View.X(float64(start+int64(k))/rate, w)
		y := foot + reach*min(1, math.Abs(float64(s))*gain)
		p.pen.Disc(c, x, y, 3)
		if s < 0 {
			p.pen.Disc(f.inks.Paper, x, y, 1.6)
		}
	}
	return nil
}
