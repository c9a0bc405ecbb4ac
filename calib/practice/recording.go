package practice

import (
	"fmt"
	"io"
)

// Recording is a take in memory: channel 1 is the reference, channel 2 the
// voice, unless Disturb.Swapped, and further voices follow. Samples lie between −1 and 1.
type Recording struct {
	rate    float64
	samples [][]float32
}

// NewRecording returns a take of channels of the same length at a rate in Hz. It
// keeps the samples that it is given.
func NewRecording(rate float64, channels ...[]float32) *Recording {
	return &Recording{rate, channels}
}

// Rate returns the sample rate in Hz.
func (r *Recording) Rate() float64 { return r.rate }

// Channels returns the number of channels.
func (r *Recording) Channels() int { return len(r.samples) }

// Frames returns the length in samples a channel.
func (r *Recording) Frames() int64 { return int64(len(r.samples[0])) }

// ReadAt fills dst with samples of a channel, which counts from 1, starting at a
// frame, which counts from 0. Like io.ReaderAt it returns io.EOF when it reads
// fewer than len(dst) samples, and it may be called from several goroutines.
func (r *Recording) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	if channel < 1 || channel > len(r.samples) {
		return 0, fmt.Errorf("this practice take has channels 1 to %d, not %d: choose one of them", len(r.samples), channel)
	}
	if frame < 0 {
		return 0, fmt.Errorf("cannot read a practice take before its start, at frame %d", frame)
	}
	if frame > r.Frames() {
		frame = r.Frames()
	}
	n := copy(dst, r.samples[channel-1][frame:])
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}
