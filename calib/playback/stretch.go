package playback

import (
	"errors"
	"io"
	"math"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

const (
	kernelHalf   = 16  // samples to either side that make one between samples
	kernelPhases = 256 // places between two samples; in between, a straight line is off by less than 1e-4
)

// kernel makes samples between samples: a sinc under a Blackman window, so narrow
// that nothing folds back where samples are left out.
type kernel struct {
	half int
	taps [][]float32 // by phase
}

// newKernel returns the kernel for a step in samples from one output to the next.
func newKernel(step float64) kernel {
	wide := math.Max(step, 1)
	k := kernel{half: int(math.Ceil(kernelHalf * wide)), taps: make([][]float32, kernelPhases+1)}
	for p := range k.taps {
		taps, sum := make([]float32, 2*k.half), 0.0
		weights := make([]float64, len(taps))
		for i := range weights {
			d := float64(i-k.half+1) - float64(p)/kernelPhases
			weights[i] = sinc(d/wide) * blackman(d/float64(k.half))
			sum += weights[i]
		}
		for i, w := range weights {
			taps[i] = float32(w / sum)
		}
		k.taps[p] = taps
	}
	return k
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// blackman is Blackman's window, from −1 to 1.
func blackman(x float64) float64 {
	if math.Abs(x) >= 1 {
		return 0
	}
	return 0.42 + 0.5*math.Cos(math.Pi*x) + 0.08*math.Cos(2*math.Pi*x)
}

// at returns the sample at a place in x, which has half samples more to either side.
func (k kernel) at(x []float32, place float64) float32 {
	first := int(place)
	phase := (place - float64(first)) * kernelPhases
	p := int(phase)
	near, far := k.taps[p], k.taps[min(p+1, kernelPhases)]
	var a, b float32
	for i, v := range x[first-k.half+1 : first+k.half+1] {
		a, b = a+v*near[i], b+v*far[i]
	}
	return a + (b-a)*float32(phase-float64(p))
}

// reader reads one channel of a take at places between samples.
type reader struct {
	buf []float32
}

// read fills dst with a channel's sound from a place in frames on, a step apart.
// Before the beginning and after the end lies silence.
func (r *reader) read(dst []float32, src calib.Source, channel int, place, step float64, k kernel) error {
	first := int64(math.Floor(place)) - int64(k.half)
	n := int(float64(len(dst))*step) + 2*k.half + 3
	if cap(r.buf) < n {
		r.buf = make([]float32, n)
	}
	x := r.buf[:n]
	if err := readPadded(x, src, channel, first); err != nil {
		return err
	}
	at := place - float64(first)
	for i := range dst {
		dst[i] = k.at(x, at+float64(i)*step)
	}
	return nil
}

// readPadded reads samples, with silence where a take has none.
func readPadded(x []float32, src calib.Source, channel int, first int64) error {
	clear(x)
	from := max(first, 0)
	to := min(first+int64(len(x)), src.Frames())
	if from >= to {
		return nil
	}
	got, err := src.ReadAt(x[from-first:to-first], channel, from)
	if err != nil && !errors.Is(err, io.EOF) {
		return i18n.Errorf("channel %d cannot be read: %w", channel, err)
	}
	clear(x[from-first+int64(got):])
	return nil
}
