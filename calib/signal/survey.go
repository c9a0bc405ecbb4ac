package signal

import (
	"math"

	"lagwright/calib"
)

// stepLen is how many samples go through each step of a survey at a time: few
// enough to stay in the processor's nearest cache.
const stepLen = 1024

// survey looks at a channel as it was recorded, for what is wrong with it.
type survey struct {
	clip  clipping
	slow  slow
	jumps jumps
	x     [stepsBack + stepLen]float32 // the last samples, and room for the next
}

func newSurvey(src calib.Source) *survey {
	return &survey{slow: newSlow(src.Rate(), src.Frames())}
}

// feed takes the next samples, which are finite.
func (s *survey) feed(block []float32) {
	for len(block) > 0 {
		n := min(len(block), stepLen)
		x := s.x[:stepsBack+n]
		copy(x[stepsBack:], block)
		most, steepest := extremes(x)
		s.clip.feed(x[stepsBack:], most)
		s.slow.feed(x[stepsBack:])
		s.jumps.feed(x, most, steepest)
		copy(x, x[n:])
		block = block[n:]
	}
}

// extremes returns the largest magnitude of samples and the largest step from one to the
// next. Those of numbers are ordered as their bits are (IEEE 754), which a processor
// compares without waiting.
func extremes(x []float32) (most, steepest float32) {
	const size = 1<<31 - 1
	var top, step, before = uint32(0), uint32(0), x[0]
	for _, v := range x {
		top = max(top, math.Float32bits(v)&size)
		step = max(step, math.Float32bits(v-before)&size)
		before = v
	}
	return math.Float32frombits(top), math.Float32frombits(step)
}
