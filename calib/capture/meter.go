package capture

import (
	"math"
	"slices"
	"sync/atomic"
)

// Level is how loud a channel is. Full scale is 1.
type Level struct {
	Peak float64 // highest of the last twentieth of a second
	Hold float64 // highest of the last two seconds
}

const (
	meterS = 0.05 // how often a level is worked out
	holdS  = 2
)

// meter works out the level of one channel. feed belongs to one goroutine; level
// may be called from any.
type meter struct {
	peak, hold atomic.Uint32 // as float32 bits

	highest float64
	count   int
	held    [holdS / meterS]float64 // the latest peaks
	next    int
}

// feed takes every step-th sample, and publishes each size of them.
func (m *meter) feed(interleaved []float32, step, size int) {
	for i := 0; i < len(interleaved); i += step {
		m.highest = max(m.highest, math.Abs(float64(interleaved[i])))
		if m.count++; m.count == size {
			m.publish()
		}
	}
}

func (m *meter) publish() {
	m.held[m.next] = m.highest
	m.next = (m.next + 1) % len(m.held)
	store(&m.peak, m.highest)
	store(&m.hold, slices.Max(m.held[:]))
	m.highest, m.count = 0, 0
}

func store(to *atomic.Uint32, v float64) { to.Store(math.Float32bits(float32(v))) }

func (m *meter) level() Level {
	load := func(from *atomic.Uint32) float64 { return float64(math.Float32frombits(from.Load())) }
	return Level{load(&m.peak), load(&m.hold)}
}
