package calib

import (
	"io"

	"lagwright/calib/i18n"
)

// Format is the shape of sound that a device or a file is given. Zero asks a device for what
// it does by itself.
type Format struct {
	RateHz   int `json:"rate_hz"`  // frames a second
	Channels int `json:"channels"` // side by side in a frame
}

// Source is a recording that can be read anywhere. Channels and full scale are as
// everywhere: channels count from 1, frames from 0, full scale is ±1.
type Source interface {
	Rate() float64 // frames per second in Hz
	Channels() int
	Frames() int64 // samples a channel
	// ReadAt fills dst with samples of a channel from a frame on. Like io.ReaderAt it
	// returns io.EOF when it reads fewer than len(dst), and several goroutines may call
	// it at once.
	ReadAt(dst []float32, channel int, frame int64) (int, error)
}

// Recording is a Source in memory, with as many samples in each channel.
type Recording struct {
	RateHz  float64
	Samples [][]float32 // by channel
}

// Rate returns the sample rate in Hz.
func (r Recording) Rate() float64 { return r.RateHz }

// Channels returns the number of channels.
func (r Recording) Channels() int { return len(r.Samples) }

// Frames returns the length in samples a channel.
func (r Recording) Frames() int64 { return int64(len(r.Samples[0])) }

// ReadAt is as Source has it.
func (r Recording) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	if channel < 1 || channel > len(r.Samples) {
		return 0, i18n.Errorf("there is no such channel")
	}
	n := copy(dst, r.Samples[channel-1][min(frame, r.Frames()):])
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}
