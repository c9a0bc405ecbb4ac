package signal

import "lagwright/calib"

// stepLen is how many samples go through each step of a survey at a time: few
// enough to stay in the processor's nearest cache.
const stepLen = 1024

// survey looks at a channel as it was recorded, for what is wrong with it.
type survey struct {
	clip  clipping
	slow  slow
	jumps jumps
	x     [stepsBack + stepLen]float64 // the last samples, and room for the next
}

func newSurvey(src calib.Source) *survey {
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
		s.slow.feed(x[stepsBack:])
		s.jumps.feed(x)
		copy(x, x[n:])
		block = block[n:]
	}
}
