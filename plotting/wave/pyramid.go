// Package wave keeps the extremes of a recording at many resolutions, so that a take
// of any length is cheap to draw. It knows no toolkit.
package wave

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Range is the lowest and the highest sample of a stretch of recording.
type Range struct{ Min, Max float32 }

// nothing is the range that any other one replaces when joined with it.
var nothing = Range{Min: math.MaxFloat32, Max: -math.MaxFloat32}

// join returns the range that holds all of them.
func join(ranges ...Range) Range {
	r := nothing
	for _, o := range ranges {
		r = Range{min(r.Min, o.Min), max(r.Max, o.Max)}
	}
	return r
}

// extremes returns the range of the samples.
func extremes(samples []float32) Range {
	r := nothing
	for _, s := range samples {
		r = Range{min(r.Min, s), max(r.Max, s)}
	}
	return r
}

const (
	leastBin  = 64      // frames in a bin of the lowest level, where memory allows
	branch    = 4       // bins joined into one of the next level
	mostBins  = 1 << 22 // bins of the lowest level; 44 MB in all at most
	readBlock = 1 << 16 // frames read at a time
)

// Pyramid holds the extremes of one channel at many resolutions. Build it on any
// goroutine; afterwards its methods belong to one goroutine at a time. That of a
// recording under way grows with it; see Grow.
type Pyramid struct {
	src     calib.Source
	channel int
	frames  int64     // readable frames; fewer than the source claims if it ends early
	bin     int64     // frames in a bin of levels[0]
	levels  [][]Range // each level has a branch-th of the bins below it
	peak    float64   // height of a usual hit, 0 to 1 for what fits full scale: a lone bump does not raise it, and pauses do not lower it

	buf    []float32 // for reading
	window []float32 // samples last read for Columns
	start  int64     // frame of window[0]
}

// Build reads one channel of src from end to end and returns its pyramid. Memory
// is bounded whatever the length. It calls progress, if not nil, with the share
// done, about a hundred times, on its own goroutine. It returns ctx.Err() when
// cancelled, and an error when the source cannot be read. A source that ends
// early is no error: the pyramid ends where it does.
func Build(ctx context.Context, src calib.Source, channel int, progress func(float64)) (*Pyramid, error) {
	if channel < 1 || channel > src.Channels() {
		return nil, i18n.Errorf("the take has %d channels; channel %d is not there: choose another", src.Channels(), channel)
	}
	p := &Pyramid{src: src, channel: channel, bin: leastBin}
	for src.Frames()/p.bin >= mostBins {
		p.bin *= 2
	}
	p.levels = [][]Range{make([]Range, 0, max(0, src.Frames())/p.bin+1)}
	return p, p.grow(ctx, progress)
}

// Grow takes in what the source has gained since the pyramid was built or last
// grown. It costs what was gained, not what was there.
func (p *Pyramid) Grow() error { return p.grow(context.Background(), nil) }

func (p *Pyramid) grow(ctx context.Context, progress func(float64)) error {
	if p.buf == nil {
		p.buf = make([]float32, readBlock)
	}
	first, told, all := int(p.frames/p.bin), -1, max(1, p.src.Frames())
	for n := 1; n > 0 && p.frames < p.src.Frames(); {
		if err := ctx.Err(); err != nil {
			return err
		}
		var err error
		if n, err = p.read(p.buf[:min(readBlock, p.src.Frames()-p.frames)], p.frames); err != nil {
			return err
		}
		p.addBins(p.buf[:n])
		if percent := int(100 * p.frames / all); progress != nil && percent != told {
			told = percent
			progress(float64(p.frames) / float64(all))
		}
	}
	p.raise(first)
	for len(p.levels[0]) > mostBins {
		p.levels, p.bin = p.levels[1:], p.bin*branch
	}
	p.peak = p.usualPeak()
	return nil
}

// raise makes the levels above the lowest anew from a bin of that one on.
func (p *Pyramid) raise(bin int) {
	for i := 0; len(p.levels[i]) > branch; i++ {
		if i+1 == len(p.levels) {
			p.levels = append(p.levels, nil)
			bin = 0
		}
		bin /= branch
		p.levels[i+1] = p.levels[i+1][:bin]
		for below := range slices.Chunk(p.levels[i][bin*branch:], branch) {
			p.levels[i+1] = append(p.levels[i+1], join(below...))
		}
	}
}

// addBins takes in the samples that follow.
func (p *Pyramid) addBins(samples []float32) {
	bins := &p.levels[0]
	for len(samples) > 0 {
		if p.frames%p.bin == 0 {
			*bins = append(*bins, nothing)
		}
		n := min(int64(len(samples)), p.bin-p.frames%p.bin)
		last := &(*bins)[len(*bins)-1]
		*last = join(*last, extremes(samples[:n]))
		samples = samples[n:]
		p.frames += n
	}
}

// read reads from the source into dst, short only at its end; what is not a
// number counts as silence.
func (p *Pyramid) read(dst []float32, at int64) (int, error) {
	n := 0
	for n < len(dst) {
		got, err := p.src.ReadAt(dst[n:], p.channel, at+int64(n))
		n += got
		if errors.Is(err, io.EOF) || (err == nil && got == 0) {
			break
		}
		if err != nil {
			return n, i18n.Errorf("cannot read the take at %.1f s: %w", float64(at)/p.src.Rate(), err)
		}
	}
	for i, s := range dst[:n] {
		if s != s {
			dst[i] = 0
		}
	}
	return n, nil
}

// Apart returns a pyramid of the same sound for another goroutine, while neither grows;
// nil for nil.
func (p *Pyramid) Apart() *Pyramid {
	if p == nil {
		return nil
	}
	other := *p
	other.buf, other.window = nil, nil
	return &other
}

// Frames returns how many frames the pyramid covers.
func (p *Pyramid) Frames() int64 { return p.frames }

// Rate returns the frames in a second.
func (p *Pyramid) Rate() float64 { return p.src.Rate() }

// mostGain keeps the noise of a dead channel from being drawn as a signal.
const mostGain = 1000

// headroom is the part of its half that a usual hit fills.
const headroom = 0.85

// Gain returns how many times taller than full scale the channel is drawn; 1 for
// silence.
func (p *Pyramid) Gain() float64 {
	if p.peak <= 0 {
		return 1
	}
	return max(1, min(mostGain, headroom/p.peak))
}

// Columns fills dst with the extremes of equal stretches of perColumn frames,
// the first starting at frame from. Stretches longer than a bin are widened to
// whole bins, so that no peak is missed; shorter ones are read from the source.
// A stretch outside the recording is silence.
func (p *Pyramid) Columns(dst []Range, from, perColumn float64) error {
	if perColumn < float64(p.bin) {
		return p.fineColumns(dst, from, perColumn)
	}
	level, size := 0, p.bin
	for level+1 < len(p.levels) && float64(size*branch*branch) <= perColumn {
		level, size = level+1, size*branch
	}
	for i := range dst {
		lo := int64(math.Floor(from + float64(i)*perColumn))
		hi := int64(math.Ceil(from + float64(i+1)*perColumn))
		dst[i] = p.span(level, size, lo, hi)
	}
	return nil
}

// span joins the bins of one level that touch frames lo up to hi.
func (p *Pyramid) span(level int, size, lo, hi int64) Range {
	lo, hi = max(0, lo), min(hi, p.frames)
	if lo >= hi {
		return Range{}
	}
	bins := p.levels[level]
	return join(bins[lo/size : min(int64(len(bins)), (hi+size-1)/size)]...)
}

// fineColumns is Columns for stretches shorter than a bin.
func (p *Pyramid) fineColumns(dst []Range, from, perColumn float64) error {
	first := int64(math.Floor(from))
	last := int64(math.Ceil(from + float64(len(dst))*perColumn))
	samples, start, err := p.Samples(first, last)
	if err != nil {
		return err
	}
	for i := range dst {
		lo := max(0, int64(math.Floor(from+float64(i)*perColumn))-start)
		hi := min(int64(len(samples)), int64(math.Ceil(from+float64(i+1)*perColumn))-start)
		if dst[i] = (Range{}); lo < hi {
			dst[i] = extremes(samples[lo:hi])
		}
	}
	return nil
}

// Samples returns the samples from frame from up to but not including to, cut to
// the recording, and the frame of the first. The slice is valid until the next
// call. A stretch within the one read last costs nothing, so panning reads
// seldom.
func (p *Pyramid) Samples(from, to int64) (samples []float32, start int64, err error) {
	from, to = max(0, from), min(to, p.frames)
	if from >= to {
		return nil, from, nil
	}
	if from < p.start || to > p.start+int64(len(p.window)) {
		if err := p.slide(from, to); err != nil {
			return nil, from, err
		}
	}
	end := min(to-p.start, int64(len(p.window)))
	return p.window[min(from-p.start, end):end], from, nil
}

// slide reads the window anew, with as much again to spare around it.
func (p *Pyramid) slide(from, to int64) error {
	spare := (to - from) / 2
	from, to = max(0, from-spare), min(to+spare, p.frames)
	if need := int(to - from); cap(p.window) < need {
		p.window = make([]float32, need)
	}
	p.window, p.start = p.window[:to-from], from
	n, err := p.read(p.window, from)
	p.window = p.window[:n]
	if err != nil {
		p.window = p.window[:0]
	}
	return err
}

// sections is how many parts of a take usualPeak looks at; a bump may spoil, or
// hits fill, a tenth of them. Each is looked at by so many bins or more.
const (
	sections    = 60
	sectionBins = 16
)

// usualPeak returns the height that nine sections in ten stay within, or where those hold no
// hit, as of a take with three, what three sections reach.
func (p *Pyramid) usualPeak() float64 {
	heights := make([]float64, 0, sections)
	level, size := 0, p.bin
	for level+1 < len(p.levels) && len(p.levels[level+1]) > sections*sectionBins {
		level, size = level+1, size*branch
	}
	for i := range int64(sections) {
		lo, hi := p.frames*i/sections, p.frames*(i+1)/sections
		if lo < hi {
			heights = append(heights, p.span(level, size, lo, hi).Height())
		}
	}
	if len(heights) == 0 {
		return 0
	}
	slices.Sort(heights)
	n := len(heights)
	usual, few := heights[n*9/10], heights[max(0, n-3)]
	if usual < noiseRange*heights[n/2] && few > 2*noiseRange*usual {
		return few
	}
	return usual
}

// noiseRange is how many times as high as its middle noise is at most, from section to section.
const noiseRange = 2

// Height returns how far the range reaches from zero.
func (r Range) Height() float64 {
	return float64(max(-r.Min, r.Max))
}
