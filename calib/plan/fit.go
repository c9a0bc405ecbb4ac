package plan

import (
	"cmp"
	"math"
	"slices"
)

// Machine is what the takes tell of a machine: the ways to understand them, each
// with its law. Where its methods speak of one law, it is that of the likeliest.
type Machine struct {
	known  Knowledge
	takes  []Take
	ways   []way     // the likeliest first
	weight []float64 // of each way, summing to 1
	excess float64   // variance of the scatter of the takes over what their uncertainties say
	pools  []pooled
}

// Fit returns the machine that the takes, oldest first, show. It returns
// ErrNothingKnown, ErrBadTake, or ErrUndetermined where nothing is believed of a voice and its
// takes do not tell its delay and offset apart either. Without takes it returns the
// machine as it is believed to be.
//
// Takes are gone through one by one, following the likeliest ways side by side.
// Each way is an exact weighted least-squares fit of all parameters together,
// priors being observations (ISO/TS 28037:2010, 6, for known uncertainties). A
// bad take is not weighed down but supposed: readings come from a mixture of good
// ones and a few that scatter evenly. With few takes this keeps both "the first
// was bad" and "the second was bad" open until a third decides, where an
// M-estimate would settle between the two.
func Fit(k Knowledge, takes []Take) (Machine, error) {
	if !k.usable() {
		return Machine{}, ErrNothingKnown
	}
	for _, t := range takes {
		for _, h := range t.Heard {
			if !h.usable(k.Voices) {
				return Machine{}, ErrBadTake
			}
		}
	}
	s := search{known: k, takes: takes, pools: pool(takes, k.Voices)}
	s.run()
	if s.hard = s.faulty(); s.hard && len(takes) <= longTakes {
		s.run()
	}
	m := s.machine()
	if !m.ways[0].determined() {
		return Machine{}, ErrUndetermined
	}
	return m, nil
}

// told is the share of what stands for knowing nothing below which a parameter
// counts as told.
const told = 0.1

// determined reports whether every voice has its delay and offset.
func (w *way) determined() bool {
	for v := range w.voices {
		cov := w.joint([]int{v})
		if math.Sqrt(cov.At(2, 2)) > told*vagueMS || math.Sqrt(cov.At(3, 3)) > told*vagueBeats {
			return false
		}
	}
	return true
}

// A Birge ratio of few takes says more about chance than about their
// uncertainties: it counts as if so many takes had agreed with theirs.
const agreedTakes = 4

// machine weighs the ways.
func (s *search) machine() Machine {
	m := Machine{known: s.known, takes: slices.Clone(s.takes), ways: slices.Clone(s.live), pools: s.pools}
	slices.SortStableFunc(m.ways, func(a, b way) int { return cmp.Compare(b.score(), a.score()) })
	var sum float64
	for i := range m.ways {
		m.weight = append(m.weight, math.Exp(m.ways[i].score()-m.ways[0].score()))
		sum += m.weight[i]
	}
	for i := range m.weight {
		m.weight[i] /= sum
	}
	best := &m.ways[0]
	m.excess = math.Max(1, (agreedTakes+best.chiSquared())/(agreedTakes+float64(best.seen)))
	return m
}
