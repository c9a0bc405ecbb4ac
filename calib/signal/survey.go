package signal

// survey looks at a channel as it was recorded, for what is wrong with it.
type survey struct {
	clip  clipping
	slow  slow
	jumps jumps
	x     [stepsBack + stepLen]float64 // the last samples, and room for the next
}

func newSurvey(src Source) *survey {
	return &survey{slow: newSlow(src.Rate(), src.Frames())}
}

// feed takes the next samples.
func (s *survey) feed(block []float32) {
	s.clip.feed(block)
	for len(block) > 0 {
		n := min(len(block), stepLen)
		x := s.x[:stepsBack+n]
		for i, v := range block[:n] {
			x[stepsBack+i] = finite(v)
		}
		for _, v := range x[stepsBack:] {
			s.slow.add(v)
		}
		s.jumps.feed(x)
		copy(x, x[n:])
		block = block[n:]
	}
}
