// Package soundtest makes recordings in memory, for tests that read or draw one.
package soundtest

import (
	"io"
	"math"

	"lagwright/calib"
)

// Memory is a recording held in memory that can fail.
type Memory struct {
	calib.Recording
	Reads  int   // how often it was read
	Fail   error // what reading it gives from now on
	FailAt int64 // where what is read reaches beyond that frame
	Short  int64 // frames it claims but does not have
}

// Of returns a recording of some channels.
func Of(rateHz float64, channels ...[]float32) *Memory {
	return &Memory{Recording: calib.Recording{RateHz: rateHz, Samples: channels}}
}

// Frames returns how many it claims.
func (m *Memory) Frames() int64 { return m.Recording.Frames() + m.Short }

// ReadAt reads as io.ReaderAt does.
func (m *Memory) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	m.Reads++
	if m.Fail != nil && frame+int64(len(dst)) > m.FailAt {
		return 0, m.Fail
	}
	return m.Recording.ReadAt(dst, channel, frame)
}

// Made is a recording of any length, each sample of which is worked out when it is read.
type Made struct {
	RateHz float64
	Of     int                                    // channels
	Long   int64                                  // frames
	At     func(channel int, frame int64) float32 // channels count from 1; nil = silence
}

func (m Made) Rate() float64 { return m.RateHz }
func (m Made) Channels() int { return m.Of }
func (m Made) Frames() int64 { return m.Long }

// ReadAt reads as io.ReaderAt does.
func (m Made) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	n := int(min(int64(len(dst)), max(m.Long-frame, 0)))
	clear(dst[:n])
	for i := range dst[:n] {
		if m.At != nil {
			dst[i] = m.At(channel, frame+int64(i))
		}
	}
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}

// Strike adds a decaying sine at the given moment.
func Strike(dst []float32, rate, atS, hz, decayS, height float64) {
	first := int(math.Ceil(atS * rate))
	for i := first; i < len(dst) && i < first+int(decayS*8*rate); i++ {
		s := float64(i)/rate - atS
		dst[i] += float32(height * math.Exp(-s/decayS) * math.Sin(2*math.Pi*hz*s))
	}
}

// Hour is an hour at 48 kHz on two channels, of which one second is kept.
type Hour struct{ second []float32 }

// NewHour returns an hour with a hit each second.
func NewHour() Hour {
	h := Hour{make([]float32, 48000)}
	Strike(h.second, 48000, 0.2, 300, 0.05, 0.6)
	return h
}

func (h Hour) Rate() float64 { return 48000 }
func (h Hour) Channels() int { return 2 }
func (h Hour) Frames() int64 { return 3600 * 48000 }

// ReadAt reads as io.ReaderAt does.
func (h Hour) ReadAt(dst []float32, _ int, frame int64) (int, error) {
	n := 0
	for n < len(dst) && frame+int64(n) < h.Frames() {
		n += copy(dst[n:], h.second[(frame+int64(n))%48000:])
	}
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}
