package capture

import (
	"math"
	"sync/atomic"
)

// Level is how loud a channel is. Full scale is 1.
type Level struct {
	Peak    float64 // highest of the last twentieth of a second
	Hold    float64 // highest of the last two seconds
	RMS     float64 // root of the mean square, about the last third of a second
	Clipped int64   // samples at full scale since the start
}

const (
	meterS  = 0.05 // how often a level is worked out
	holdS   = 2
	smoothS = 0.3
	// clipAt is full scale, as far as a meter is concerned: converters of 16 bits
	// and fewer stop a little below 1.
	clipAt = 0.999
)

// meter works out the level of one channel. feed belongs to one goroutine; level
// may be called from any.
type meter struct {
	peak, hold, rms atomic.Uint32 // as float32 bits
	clipped         atomic.Int64

	highest, square, mean float64
	count                 int
	held                  [holdS / meterS]float64 // the latest peaks
	next                  int
}

// feed takes every step-th sample, and publishes each size of them.
func (m *meter) feed(interleaved []float32, step, size int) {
	clipped := int64(0)
	for i := 0; i < len(interleaved); i += step {
		v := math.Abs(float64(interleaved[i]))
		m.highest = max(m.highest, v)
		m.square += v * v
		if v >= clipAt {
			clipped++
		}
		if m.count++; m.count == size {
			m.publish()
		}
	}
	if clipped > 0 {
		m.clipped.Add(clipped)
	}
}

func (m *meter) publish() {
	m.mean += (m.square/float64(m.count) - m.mean) * (meterS / smoothS)
	m.held[m.next] = m.highest
	m.next = (m.next + 1) % len(m.held)
	hold := 0.0
	for _, p := range m.held {
		hold = max(hold, p)
	}
	store(&m.peak, m.highest)
	store(&m.hold, hold)
	store(&m.rms, math.Sqrt(m.mean))
	m.highest, m.square, m.count = 0, 0, 0
}

func store(to *atomic.Uint32, v float64) { to.Store(math.Float32bits(float32(v))) }

func (m *meter) level() Level {
	load := func(from *atomic.Uint32) float64 { return float64(math.Float32frombits(from.Load())) }
	return Level{load(&m.peak), load(&m.hold), load(&m.rms), m.clipped.Load()}
}
