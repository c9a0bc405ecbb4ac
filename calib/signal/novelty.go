package signal

import (
	"errors"
	"io"
	"sync"
)

const (
	tonesS     = 0.5 // the tones that ring are learnt afresh this often,
	tonesSeenS = 0.2 // from this much longer before and after
	tonesOrder = 24  // two for each tone, and some for the noise
)

// toneless is a take one of whose channels has the tones that ring in it taken
// out, so that what is new stands out: a strike begins abruptly, while what rings
// on is foretold by the samples before it (linear prediction: Makhoul (1975),
// Proc. IEEE 63:561-580).
type toneless struct {
	Source
	channel int

	lock    sync.Mutex
	filters map[int64][]float64 // by number of the stretch of tonesS
}

func newToneless(src Source, channel int) *toneless {
	return &toneless{Source: src, channel: channel, filters: map[int64][]float64{}}
}

func (s *toneless) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	if channel != s.channel {
		return s.Source.ReadAt(dst, channel, frame)
	}
	past := int(min(frame, tonesOrder))
	raw := make([]float32, past+len(dst))
	n, err := s.Source.ReadAt(raw, channel, frame-int64(past))
	if n = max(n-past, 0); err != nil && !errors.Is(err, io.EOF) {
		return 0, err
	}
	x := floats64(raw[:past+n])
	each := int64(tonesS * s.Rate())
	for i := 0; i < n; {
		stretch := (frame + int64(i)) / each
		end := min(n, int((stretch+1)*each-frame))
		filter, bad := s.filter(stretch, each)
		if bad != nil {
			return 0, bad
		}
		lead := min(past+i, tonesOrder)
		for j, y := range whiten(x[past+i-lead:past+end], filter)[lead:] {
			dst[i+j] = float32(y)
		}
		i = end
	}
	return n, err
}

// filter returns the filter that foretells a stretch of each samples.
func (s *toneless) filter(stretch, each int64) ([]float64, error) {
	s.lock.Lock()
	f, ok := s.filters[stretch]
	s.lock.Unlock()
	if ok {
		return f, nil
	}
	more := int64(tonesSeenS * s.Rate())
	start := max(stretch*each-more, 0)
	raw := make([]float32, (stretch+1)*each+more-start)
	n, err := s.Source.ReadAt(raw, s.channel, start)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	if f = burg(floats64(raw[:n]), tonesOrder); f == nil {
		f = []float64{1}
	}
	s.lock.Lock()
	defer s.lock.Unlock()
	s.filters[stretch] = f
	return f, nil
}

func floats64(raw []float32) []float64 {
	x := make([]float64, len(raw))
	for i, v := range raw {
		x[i] = finite(v)
	}
	return x
}
