package picture

import (
	"cmp"
	"image/color"
	"math"
	"strconv"

	"lagwright/calib/i18n"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
	"lagwright/plotting/wave"
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

// drawWaves draws both channels away from the lane.
func (p *Picture) drawWaves(f *frame, m *mirror.Trace) {
	reference := p.drawWave(f, f.Take.Reference, f.inks.Reference, m.LaneTop, m.Top)
	voice := p.drawWave(f, f.Take.Voice, f.inks.Voice, m.LaneBottom, m.Bottom)
	p.Fault = cmp.Or(voice, reference)
}

// drawWave draws one channel's size from the line at foot towards limit. Both
// swings of the wave are drawn to the same side: what counts is when it starts.
func (p *Picture) drawWave(f *frame, pyr *wave.Pyramid, c color.NRGBA, foot, limit float64) error {
	gain := pyr.Gain()
	p.heights = resized(p.heights, f.w)
	clear(p.heights)
	perColumn := f.View.Width() * pyr.Rate() / float64(f.w)
	from := f.View.Lo * pyr.Rate()
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
		p.heights[i] = min(1, h*gain) * (limit - foot)
	}
	p.fill(f, c, foot)
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
func (p *Picture) envelope(pyr *wave.Pyramid, from, perColumn float64) error {
	p.columns = resized(p.columns, len(p.heights))
	err := pyr.Columns(p.columns, from, perColumn)
	for i, r := range p.columns {
		p.heights[i] = r.Height()
	}
	return err
}

// interpolate fills heights between samples that are further apart than a
// column.
func (p *Picture) interpolate(pyr *wave.Pyramid, from, perColumn float64) error {
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

// longestEdge bounds how far, in device pixels, an edge runs down a cliff between
// two columns, so that a dense signal keeps its tint.
const longestEdge = 12

// fill paints how far each column reaches from foot, in a tint that ends in an edge, which
// joins it to the columns beside it.
func (p *Picture) fill(f *frame, c color.NRGBA, foot float64) {
	p.pen.Bars(sketch.Mix(f.inks.Paper, c, 0.5), foot, p.heights)
	var edge color.Color = c
	pixel := 1 / f.scale
	for i, h := range p.heights {
		way, low := math.Copysign(pixel, h), h
		for _, beside := range p.heights[max(0, i-1):min(len(p.heights), i+2)] {
			if math.Abs(beside) < math.Abs(low) {
				low = beside
			}
		}
		if math.Abs(h-low) > longestEdge*pixel {
			low = h - longestEdge*way
		}
		x := float64(i) * pixel
		p.pen.Box(edge, x, foot+min(low-way, h), x+pixel, foot+max(low-way, h))
	}
}

// sampleSpacing is how far apart samples must lie, in device-independent pixels,
// to be drawn one by one.
const sampleSpacing = 7

// drawSamples draws each sample as a dot: full where the wave is positive, hollow
// where it is negative.
func (p *Picture) drawSamples(f *frame, pyr *wave.Pyramid, c color.Color, foot, reach, gain float64) error {
	rate := pyr.Rate()
	samples, start, err := pyr.Samples(int64(f.View.Lo*rate), int64(f.View.Hi*rate)+2)
	if err != nil {
		return err
	}
	w, _ := p.pen.Size()
	for k, s := range samples {
		x := f.View.X(float64(start+int64(k))/rate, 0, w)
		y := foot + reach*min(1, math.Abs(float64(s))*gain)
		p.pen.Disc(c, x, y, 3)
		if s < 0 {
			p.pen.Disc(f.inks.Paper, x, y, 1.6)
		}
	}
	return nil
}
