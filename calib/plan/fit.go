package plan

import (
	"cmp"
	"math"
	"slices"

	"lagwright/calib"
)

// Posterior is what the takes tell of a machine: the hypotheses about them, each with
// its law. Where its methods speak of one law, it is that of the likeliest.
type Posterior struct {
	known      Knowledge
	takes      []Take
	hypotheses []hypothesis // the likeliest first
	posterior  []float64    // of each hypothesis, summing to 1
	heard      []bool       // whether a take that counts has heard each voice
	pools      []pooled
	ahead      int // by how many steps the plate stands further ahead than told
}

// Fit returns the machine that the takes, oldest first, show. It returns
// ErrNothingKnown or ErrBadTake. Without takes it returns the machine
// as it is believed to be.
//
// Takes are gone through one by one, following the likeliest hypotheses side by
// side. Each is an exact weighted least-squares fit of all parameters together,
// priors being observations (ISO/TS 28037:2010, 6, for known uncertainties), and
// weighs as much as its prior times its evidence, the density of each reading by
// the takes before it. A bad take is not weighed down but supposed: readings come
// from a mixture of good ones and a few with a far wider error (the contaminated normal
// law; Tukey 1960, from memory). With few takes this keeps both "the first was bad" and
// "the second was bad" open until a third decides, where an M-estimate would settle
// between the two.
func Fit(k Knowledge, takes []Take) (Posterior, error) {
	if !k.usable() {
		return Posterior{}, ErrNothingKnown
	}
	for _, t := range takes {
		for _, h := range t.Heard {
			if !h.usable(k.Voices) {
				return Posterior{}, ErrBadTake
			}
		}
	}
	s := search{known: k, takes: takes, pools: pool(takes, k.Voices)}
	s.run()
	m := s.machine()
	m.settle()
	return m, nil
}

// leastPosterior is how likely a hypothesis has to be for anybody to look at it.
const leastPosterior = 1e-5

// machine weighs the hypotheses.
func (s *search) machine() Posterior {
	m := Posterior{known: s.known, takes: slices.Clone(s.takes), pools: s.pools}
	slices.SortStableFunc(s.live, func(a, b *hypothesis) int {
		if math.Abs(a.log-b.log) < asLikely {
			return 0
		}
		return cmp.Compare(b.log, a.log)
	})
	var sum float64
	for _, h := range s.live {
		p := math.Exp(h.log - s.live[0].log)
		if p < leastPosterior {
			break
		}
		h.pools = m.pools
		m.hypotheses, m.posterior = append(m.hypotheses, *h), append(m.posterior, p)
		sum += p
	}
	for i := range m.posterior {
		m.posterior[i] /= sum
	}
	return m
}

// normal is a lag or a delay by one hypothesis, in ms.
type normal struct{ mean, sd float64 }

// central returns the normal law whose 95 % interval is that which holds 95 % of a quantity
// by all hypotheses together, as much below it as above: what is said to lie inside a limit
// has no interval that leaves it. Whole periods in ms count as none.
func (m *Posterior) central(by func(i int) normal, periodMS float64) normal {
	best, same := by(0), m.posterior[0] // posterior of those that as good as agree
	type other struct{ p, from, sd float64 }
	var others []other
	far, sum := 0.0, 0.0
	for i := 1; i < len(m.posterior) && same <= 1-nearly95; i++ {
		switch l, p := by(i), m.posterior[i]; {
		case math.Abs(l.mean-best.mean) <= nearlySame*best.sd && math.Abs(l.sd-best.sd) <= nearlySame*best.sd:
			same += p
		case p > nearly95/10:
			from := math.Remainder(l.mean-best.mean, periodMS)
			others, sum = append(others, other{p, from, l.sd}), sum+p
			far = math.Max(far, math.Abs(from)+2*calib.Half95*l.sd)
		}
	}
	if same > 1-nearly95 {
		return best
	}
	quantile := func(p float64) float64 { // above which that probability lies, from the likeliest mean on
		low, high := -far-2*calib.Half95*best.sd, far+2*calib.Half95*best.sd
		for high-low > nearly95*best.sd+exact {
			middle := (low + high) / 2
			more, left := p*(same+sum)-same*above(middle, best.sd), sum
			for i := 0; i < len(others) && 0 <= more && more < left; i++ { // else it is decided
				o := &others[i]
				more, left = more-o.p*above(middle-o.from, o.sd), left-o.p
			}
			if more < 0 {
				low = middle
			} else {
				high = middle
			}
		}
		return (low + high) / 2
	}
	low, high := quantile(1-beyond95/2), quantile(beyond95/2)
	return normal{best.mean + (low+high)/2, (high - low) / 2 / calib.Half95}
}

// above returns the probability that a normal value of mean 0 lies above another.
func above(x, sd float64) float64 { return math.Erfc(x/math.Sqrt2/math.Max(sd, exact)) / 2 }

// beyond95 is the probability outside a 95 % interval, nearly95 how nearly that is worked out,
// and nearlySame by how many standard deviations hypotheses differ that as good as agree.
const (
	beyond95   = 0.05
	nearly95   = 0.01
	nearlySame = 0.03
)

// probability returns how likely it is that a hypothesis holds of which something
// is so.
func (m *Posterior) probability(so func(h *hypothesis) bool) (p float64) {
	for i := range m.hypotheses {
		if so(&m.hypotheses[i]) {
			p += m.posterior[i]
		}
	}
	return math.Min(p, 1) // a sum of all may round to more
}

// Stood returns where the plate most probably stood in a take, in steps: what went wrong before
// counts in.
func (m *Posterior) Stood(take int) int {
	return m.takes[take].Setting + m.ahead - m.hypotheses[0].faults.since(take)
}

// Aside returns why a take's reading of a voice does not count by the likeliest hypothesis; Fine
// where it does.
func (m *Posterior) Aside(take, voice int) Kind { return m.hypotheses[0].aside(take, voice) }

// settle counts settings as the likeliest hypothesis has them, from then on and no longer as told,
// and works out which voices have been heard by that.
func (m *Posterior) settle() {
	m.ahead, m.heard = m.hypotheses[0].offset, make([]bool, m.known.Voices)
	for i := range m.hypotheses {
		m.hypotheses[i].offset -= m.ahead
	}
	for i, t := range m.takes {
		for _, h := range t.Heard {
			m.heard[h.Voice] = m.heard[h.Voice] || m.Aside(i, h.Voice) == Fine
		}
	}
}

// UnreportedSteps returns by how many steps the plate now stands further ahead than told.
func (m Posterior) UnreportedSteps() int { return m.ahead }
