package live

import (
	"context"
	"slices"
	"sync"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/signal"
)

// Monitor listens to the microphones before a take and keeps nothing: it is for
// levels, noise, finding which microphone is which, and the zero check. Its methods
// may be called from any goroutine.
type Monitor struct {
	*capture.Capture
	past past
}

// pastMonitorS is how much a Monitor remembers, s.
const pastMonitorS = 20

// NewMonitor listens to a device. Zeros ask for the device's own rate and for all of
// its channels.
func NewMonitor(sound capture.Sound, d capture.Device, f calib.Format) (*Monitor, error) {
	m := &Monitor{}
	var err error
	m.Capture, err = capture.Start(sound, d, f, func(got calib.Format) (capture.Sink, error) {
		m.past.format = got
		return &m.past, nil
	})
	if err != nil {
		return nil, err
	}
	return m, nil
}

// Err returns why nothing is heard any more, or nil.
func (m *Monitor) Err() error {
	select {
	case <-m.Done():
		return m.Stop().Err
	default:
		return nil
	}
}

// HeardS returns how much was heard so far, s.
func (m *Monitor) HeardS() float64 {
	return float64(m.Status().Frames) / float64(m.Format().RateHz)
}

// Close gives the device back.
func (m *Monitor) Close() { m.Stop() }

// momentS is how short a moment is in which taps are told apart.
const momentS = 0.01

// Taps returns the taps heard from a moment on, counted as HeardS does; at most
// twenty seconds back.
func (m *Monitor) Taps(fromS float64) []handsfree.Tap {
	part, beganS := m.past.since(fromS)
	long := max(1, int(momentS*part.RateHz))
	var moments []handsfree.Moment
	for at := 0; at+long <= len(part.Samples[0]); at += long {
		peaks := make([]float64, len(part.Samples))
		for c, samples := range part.Samples {
			for _, v := range samples[at : at+long] {
				peaks[c] = max(peaks[c], float64(max(v, -v)))
			}
		}
		moments = append(moments, handsfree.Moment{AtS: beganS + float64(at)/part.RateHz, Peaks: peaks})
	}
	return handsfree.Taps(moments)
}

// quietS is how much of the past tells the noise.
const quietS = 2

// Quiet measures noise and hum of a channel, counted from 1, in the last two
// seconds; ok is false where there is not enough, or something struck. It takes some
// ten ms, which is too long for a window's own goroutine.
func (m *Monitor) Quiet(channel int) (n handsfree.Noise, ok bool) {
	part, _ := m.past.since(m.HeardS() - quietS)
	if channel > len(part.Samples) {
		return handsfree.Noise{}, false
	}
	return handsfree.Quiet(part.Samples[channel-1], part.RateHz)
}

// Zero finds the skew of a voice's channel against the reference's from knocks that
// both heard from a moment on, the microphones lying side by side.
func (m *Monitor) Zero(ctx context.Context, reference, voice int, fromS float64) (calib.Skew, error) {
	part, _ := m.past.since(fromS)
	var times [2][]float64
	for i, channel := range []int{reference, voice} {
		hits, err := signal.Hits(ctx, part, channel)
		if err != nil {
			return calib.Skew{}, err
		}
		for _, h := range hits {
			times[i] = append(times[i], h.TimeS)
		}
	}
	return handsfree.Zero(times[0], times[1], part.RateHz)
}

// past is a sink that remembers the last seconds.
type past struct {
	mu     sync.Mutex
	format calib.Format // never changes once sound comes
	sound  []float32    // interleaved
	frames int64        // heard in all
}

// Write takes in what came. It never refuses.
func (p *past) Write(interleaved []float32) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.sound = append(p.sound, interleaved...)
	p.frames += int64(len(interleaved) / p.format.Channels)
	if most := pastMonitorS * p.format.RateHz * p.format.Channels; len(p.sound) > 2*most {
		p.sound = slices.Delete(p.sound, 0, len(p.sound)-most)
	}
	return nil
}

// Lost does nothing: what is not kept cannot have a gap.
func (p *past) Lost(int64, int64) {}

// since returns what was heard from a moment on, as far back as is remembered, and when
// that began.
func (p *past) since(fromS float64) (part calib.Recording, beganS float64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	n := p.format.Channels
	part.RateHz = float64(p.format.RateHz)
	kept := int64(len(p.sound) / n)
	skip := min(max(int64(fromS*part.RateHz)-(p.frames-kept), 0), kept)
	beganS = float64(p.frames-kept+skip) / part.RateHz
	for c := range n {
		samples := make([]float32, kept-skip)
		for i := range samples {
			samples[i] = p.sound[(int(skip)+i)*n+c]
		}
		part.Samples = append(part.Samples, samples)
	}
	return part, beganS
}
