package signal

import (
	"errors"
	"io"
	"lagwright/calib"
)

const (
	tonesS     = 10   // of the take, from its middle, that teach the tones
	tonesOrder = 24   // two for each tone, and some for the noise
	tonesLeft  = 1e-5 // of their power may be left: a strike of nothing but tones must not go with them
)

// toneless is a take one of whose channels has the tones that ring in it taken
// out, so that what is new stands out: a strike begins abruptly, while what rings
// on is foretold by the samples before it (linear prediction: Makhoul (1975),
// Proc. IEEE 63:561-580, from memory). One filter serves the whole take, or each strike would be
// as loud as its own filter has it.
type toneless struct {
	calib.Source
	channel int
	filter  []float64
}

// newToneless learns the filter from the middle of a take.
func newToneless(src calib.Source, channel int) (toneless, error) {
	n := min(src.Frames(), int64(tonesS*src.Rate()))
	raw := make([]float32, n)
	got, err := src.ReadAt(raw, channel, (src.Frames()-n)/2)
	if err != nil && !errors.Is(err, io.EOF) {
		return toneless{}, err
	}
	clean(raw[:got])
	x, filter := floats64(raw[:got]), []float64{1}
	if r, _ := correlate(x, x, tonesOrder+1); r[0] > 0 {
		r[0] *= 1 + tonesLeft
		for _, c := range levinson(r[:tonesOrder], r[1:]) {
			filter = append(filter, -c)
		}
	}
	return toneless{src, channel, filter}, nil
}

func (s toneless) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	if channel != s.channel {
		return s.Source.ReadAt(dst, channel, frame)
	}
	past := int(min(frame, int64(len(s.filter)-1)))
	raw := make([]float32, past+len(dst))
	n, err := s.Source.ReadAt(raw, channel, frame-int64(past))
	if n = max(n-past, 0); err != nil && !errors.Is(err, io.EOF) {
		return 0, err
	}
	clean(raw[:past+n])
	for i, y := range whiten(floats64(raw[:past+n]), s.filter)[past:] {
		dst[i] = float32(y)
	}
	return n, err
}

func floats64(raw []float32) []float64 {
	x := make([]float64, len(raw))
	for i, v := range raw {
		x[i] = float64(v)
	}
	return x
}
