package take

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"math"
	"path/filepath"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// depth is the bits a written sample has, fullScale its value at 1.
const (
	depth     = 24
	fullScale = 1 << (depth - 1)
)

// headerBytes is the size of the header that is written.
const headerBytes = 44

// writeFrames is how many frames are written between two looks at the context.
const writeFrames = 1 << 13

// Write stores src as 24-bit PCM WAV at path, rounded to the nearest step of
// 2⁻²³, clipped and never wrapped; what is not a number becomes silence. It
// writes to a hidden file in the same folder, syncs it and renames it, so path
// holds either the whole take or what was there before, and nothing is left
// behind. Windows does not replace a file that is open: there, close the take at
// path first. ctx cancels; progress (may be nil) is told 0 to 1, never falling.
func Write(ctx context.Context, path string, src calib.Source, progress func(float64)) error {
	if progress == nil {
		progress = func(float64) {}
	}
	if err := checkSource(src); err != nil {
		return i18n.Errorf("%s was not written: %w", filepath.Base(path), err)
	}
	err := replaceFile(path, func(w io.WriteSeeker) error {
		return encode(ctx, w, src, progress)
	})
	if err != nil {
		return i18n.Errorf("%s was not written, and what was there before is unchanged: %w", filepath.Base(path), err)
	}
	progress(1)
	return nil
}

// checkSource refuses what a WAV file cannot hold.
func checkSource(src calib.Source) error {
	rate, channels, frames := src.Rate(), src.Channels(), src.Frames()
	switch {
	case !(rate >= minRate && rate <= maxRate) || rate != math.Trunc(rate):
		return i18n.Errorf("a take cannot have %v frames a second: use a whole number from %d to %d", rate, minRate, maxRate)
	case channels < 1 || channels > maxChannels:
		return i18n.Errorf("a take cannot have %d channels: use 1 to %d", channels, maxChannels)
	case frames < 1:
		return i18n.Errorf("the take holds no sound: record it again")
	case frames > (math.MaxUint32-headerBytes)/int64(channels*depth/8):
		return i18n.Errorf("%.0f s of %d channels do not fit into the 4 GiB of a WAV file: record shorter takes or fewer channels", float64(frames)/rate, channels)
	}
	return nil
}

// encode writes src to w. The encoder sets a minute of memory aside for the rate
// it is made with, so it is made with a small one and told the true one after.
func encode(ctx context.Context, w io.WriteSeeker, src calib.Source, progress func(float64)) error {
	e := wav.NewEncoder(w, 1, depth, src.Channels(), tagPCM)
	e.SampleRate = int(src.Rate())
	g := newGatherer(src)
	for frame := int64(0); frame < src.Frames(); {
		if err := ctx.Err(); err != nil {
			return sentence(err, i18n.Errorf("it was stopped before its end"))
		}
		progress(float64(frame) / float64(src.Frames()))
		n, err := g.gather(frame)
		if err != nil {
			return err
		}
		if err := e.Write(g.buf); err != nil {
			return sentence(err, i18n.Errorf("the disk refused it (%v): make room or choose another folder", err))
		}
		frame += n
	}
	return finish(e, src.Frames())
}

// finish adds the pad byte the encoder forgets and has it write the sizes.
func finish(e *wav.Encoder, frames int64) error {
	var err error
	if frames%2 == 1 && e.NumChans*depth/8%2 == 1 {
		err = e.AddLE(uint8(0))
	}
	if err := errors.Join(err, e.Close()); err != nil {
		return sentence(err, i18n.Errorf("the disk refused it (%v): make room or choose another folder", err))
	}
	return nil
}

// gatherer interleaves the channels of a source.
type gatherer struct {
	src  calib.Source
	mono []float32
	buf  *audio.IntBuffer
}

func newGatherer(src calib.Source) *gatherer {
	size := min(src.Frames(), writeFrames)
	return &gatherer{src, make([]float32, size), &audio.IntBuffer{
		Format: &audio.Format{NumChannels: src.Channels(), SampleRate: int(src.Rate())},
		Data:   make([]int, size*int64(src.Channels())),
	}}
}

// gather puts the next frames from the given one on into buf and counts them.
func (g *gatherer) gather(frame int64) (int64, error) {
	n, channels := min(g.src.Frames()-frame, writeFrames), g.src.Channels()
	mono := g.mono[:n]
	g.buf.Data = g.buf.Data[:n*int64(channels)]
	for c := range channels {
		got, err := g.src.ReadAt(mono, c+1, frame)
		if got < len(mono) {
			return 0, shortError(err, c+1, frame+int64(got))
		}
		for i, v := range mono {
			g.buf.Data[i*channels+c] = quantise(v)
		}
	}
	return n, nil
}

func shortError(err error, channel int, frame int64) error {
	if err == nil || err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return i18n.Errorf("channel %d broke off at frame %d: %w", channel, frame, err)
}

// quantise returns the nearest step to v, clipped to the range of a sample.
func quantise(v float32) int {
	x := math.Round(float64(v) * fullScale)
	switch {
	case x != x:
		return 0
	case x > fullScale-1:
		return fullScale - 1
	case x < -fullScale:
		return -fullScale
	}
	return int(x)
}

// replaceFile has fill write a new file that takes the place of path once it is
// complete and on the disk.
func replaceFile(path string, fill func(io.WriteSeeker) error) error {
	var filling error
	err := atomicfile.Write(path, func(w io.WriteSeeker) error {
		filling = fill(w)
		return filling
	})
	switch {
	case err == nil || filling != nil:
		return filling
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, fs.ErrPermission):
		return sentence(err, i18n.Errorf("no file can be made in %s: check that the folder is there and may be written to", filepath.Dir(path)))
	}
	return sentence(err, i18n.Errorf("the disk refused it (%v): make room, close other programs that use it, or choose another folder", err))
}
