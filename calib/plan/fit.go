package plan

import (
	"cmp"
	"math"
	"slices"
)

// Machine is what the takes tell of a machine: the hypotheses about them, each with
// its law. Where its methods speak of one law, it is that of the likeliest.
type Machine struct {
	known      Knowledge
	takes      []Take
	hypotheses []hypothesis // the likeliest first
	posterior  []float64    // of each hypothesis, summing to 1
	excess     float64      // variance of the scatter of the takes over what their uncertainties say
	pools      []pooled
}

// Fit returns the machine that the takes, oldest first, show. It returns
// ErrNothingKnown, ErrBadTake or ErrUndetermined. Without takes it returns the machine
// as it is believed to be.
//
// Takes are gone through one by one, following the likeliest hypotheses side by
// side. Each is an exact weighted least-squares fit of all parameters together,
// priors being observations (ISO/TS 28037:2010, 6, for known uncertainties), and
// weighs as much as its prior times its evidence, the density of each reading by
// the takes before it. A bad take is not weighed down but supposed: readings come
// from a mixture of good ones and a few that scatter evenly. With few takes this
// keeps both "the first was bad" and "the second was bad" open until a third
// decides, where an M-estimate would settle between the two.
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
	m := s.machine()
	if !m.hypotheses[0].determined() {
		return Machine{}, ErrUndetermined
	}
	return m, nil
}

// vagueShare is the share of what stands for knowing nothing below which a
// parameter counts as determined.
const vagueShare = 0.1

// determined reports whether every voice has its delay and offset.
func (h *hypothesis) determined() bool {
	for v := range h.voices {
		cov := h.joint([]int{v})
		if math.Sqrt(cov.At(2, 2)) > vagueShare*vagueMS || math.Sqrt(cov.At(3, 3)) > vagueShare*vagueBeats {
			return false
		}
	}
	return true
}

// A Birge ratio of few takes says more about chance than about their
// uncertainties: it counts as if so many takes had agreed with theirs.
const agreedTakes = 4

// leastPosterior is how likely a hypothesis has to be for anybody to look at it.
const leastPosterior = 1e-5

// machine weighs the hypotheses.
func (s *search) machine() Machine {
	m := Machine{known: s.known, takes: slices.Clone(s.takes), hypotheses: s.live, pools: s.pools}
	slices.SortStableFunc(m.hypotheses, func(a, b hypothesis) int { return cmp.Compare(b.log, a.log) })
	var sum float64
	for i := range m.hypotheses {
		p := math.Exp(m.hypotheses[i].log - m.hypotheses[0].log)
		if p < leastPosterior {
			m.hypotheses = m.hypotheses[:i]
			break
		}
		m.posterior = append(m.posterior, p)
		sum += p
	}
	for i := range m.posterior {
		m.posterior[i] /= sum
	}
	best := &m.hypotheses[0]
	m.excess = math.Max(1, (agreedTakes+best.chi)/(agreedTakes+float64(best.seen)))
	return m
}

// probability returns how likely it is that a hypothesis holds of which something
// is so.
func (m *Machine) probability(so func(h *hypothesis) bool) (p float64) {
	for i := range m.hypotheses {
		if so(&m.hypotheses[i]) {
			p += m.posterior[i]
		}
	}
	return p
}

// Verdict is what is made of a take.
type Verdict struct {
	Setting int    // where the plate most probably stood, steps; what went wrong before counts in
	Aside   []Kind // for each voice heard why its reading does not count; Fine = it does
}

// Verdicts returns what the likeliest hypothesis makes of each take.
func (m Machine) Verdicts() []Verdict {
	all := make([]Verdict, len(m.takes))
	for i, t := range m.takes {
		ahead := m.hypotheses[0].ahead(i)
		all[i].Setting = t.Setting + ahead
		for _, h := range t.Heard {
			all[i].Aside = append(all[i].Aside, m.hypotheses[0].why(i, h.Voice))
		}
	}
	return all
}

// Ahead returns by how many steps the plate now stands further ahead than told.
func (m Machine) Ahead() int { return m.hypotheses[0].offset }
