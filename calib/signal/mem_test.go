package signal_test

import (
	"io"
	"math"
	"math/rand/v2"
	"slices"
)

// memory is a take in memory.
type memory struct {
	rate    float64
	samples [][]float32
}

func (m *memory) Rate() float64 { return m.rate }
func (m *memory) Channels() int { return len(m.samples) }
func (m *memory) Frames() int64 { return int64(len(m.samples[0])) }

func (m *memory) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	n := copy(dst, m.samples[channel-1][min(frame, m.Frames()):])
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}

// hiss returns n samples of white noise.
func hiss(r *rand.Rand, n int, rms float64) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(rms * r.NormFloat64())
	}
	return x
}

// lay adds a sound to x from sample at on.
func lay(x, sound []float32, at int, gain float64) {
	for i, s := range sound {
		if at+i < len(x) {
			x[at+i] += float32(gain) * s
		}
	}
}

// knock returns a struck mode: it begins with its steepest slope at sample 0.
func knock(rate, hz, decayS float64) []float32 {
	x := make([]float32, int(6*decayS*rate))
	for i := range x {
		t := float64(i) / rate
		x[i] = float32(math.Exp(-t/decayS) * math.Sin(2*math.Pi*hz*t))
	}
	return x
}

func quantile(x []float64, p float64) float64 {
	x = slices.Sorted(slices.Values(x))
	return x[int(p*float64(len(x)-1)+0.5)]
}

func magnitudes(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.Abs(v)
	}
	return y
}
