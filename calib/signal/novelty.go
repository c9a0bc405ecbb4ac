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
// Proc. IEEE 63:561-580). One filter serves the whole take, or each strike would be
// as loud as its own filter has it.
type toneless struct {
	calib.Source
	channel int
	filter  []float64
}

func newToneless(src calib.Source, channel int) (toneless, error) {
	filter, err := tones(src, channel)
	return toneless{src, channel, filter}, err
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
	for i, y := range whiten(floats64(raw[:past+n]), s.filter)[past:] {
		dst[i] = float32(y)
	}
	return n, err
}

// tones returns the filter that foretells a channel.
func tones(src calib.Source, channel int) ([]float64, error) {
	n := min(src.Frames(), int64(tonesS*src.Rate()))
	raw := make([]float32, n)
	got, err := src.ReadAt(raw, channel, (src.Frames()-n)/2)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	x := floats64(raw[:got])
	r, _ := correlate(x, x, tonesOrder+1)
	if !(r[0] > 0) {
		return []float64{1}, nil
	}
	r[0] *= 1 + tonesLeft
	f := []float64{1}
	for _, c := range levinson(r[:tonesOrder], r[1:]) {
		f = append(f, -c)
	}
	return f, nil
}

func floats64(raw []float32) []float64 {
	x := make([]float64, len(raw))
	for i, v := range raw {
		x[i] = finite(v)
	}
	return x
}
