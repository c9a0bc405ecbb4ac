package take

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"math"
	"path/filepath"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// depth is the bits a written sample has, fullScale its value at 1.
const (
	depth     = 24
	fullScale = 1 << (depth - 1)
)

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
	switch rate := src.Rate(); {
	case rate != math.Trunc(rate) || math.Abs(rate) > math.MaxInt32:
		return i18n.Errorf("a take cannot have %v frames a second: use a whole number from %d to %d", rate, minRate, maxRate)
	case src.Frames() < 1:
		return i18n.Errorf("the take holds no sound: record it again")
	default:
		return checkForm(calib.Format{RateHz: int(rate), Channels: src.Channels()})
	}
}

// encode writes src to w.
func encode(ctx context.Context, w io.Writer, src calib.Source, progress func(float64)) error {
	h := header{form: calib.Format{RateHz: int(src.Rate()), Channels: src.Channels()}}
	each := h.frameBytes()
	h.sound = src.Frames() * int64(each)
	block := h.bytes(false)
	mono, raw := make([]float32, min(src.Frames(), writeFrames)), make([]byte, writeFrames*each)
	for frame := int64(0); ; frame += int64(len(mono)) {
		if err := ctx.Err(); err != nil {
			return sentence(err, i18n.Errorf("it was stopped before its end"))
		}
		if _, err := w.Write(block); err != nil {
			return sentence(err, i18n.Errorf("the disk refused it (%v): make room, close other programs that use it, or choose another folder", err))
		}
		if frame == src.Frames() {
			return nil
		}
		progress(float64(frame) / float64(src.Frames()))
		mono = mono[:min(src.Frames()-frame, int64(len(mono)))]
		for c := range src.Channels() {
			if got, err := src.ReadAt(mono, c+1, frame); got < len(mono) {
				if err == nil || err == io.EOF {
					err = io.ErrUnexpectedEOF
				}
				return i18n.Errorf("channel %d broke off at frame %d: %w", c+1, frame+int64(got), err)
			}
			for i, v := range mono {
				put(raw[i*each+c*depth/8:], v)
			}
		}
		if block = raw[:len(mono)*each]; frame+int64(len(mono)) == src.Frames() && h.sound%2 == 1 {
			block = append(block, 0)
		}
	}
}

// put lays out the nearest step to a sample, clipped to the range there is.
func put(raw []byte, v float32) {
	if v != v {
		v = 0
	}
	q := int(math.Round(min(max(float64(v)*fullScale, -fullScale), fullScale-1)))
	raw[0], raw[1], raw[2] = byte(q), byte(q>>8), byte(q>>16)
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
