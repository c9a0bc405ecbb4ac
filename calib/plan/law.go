package plan

import (
	"math"

	"lagwright/calib"
)

// Law returns the law of one voice by the likeliest hypothesis. The start of the plate is
// in the offset.
func (m Posterior) Law(voice int) (law calib.Law) {
	h := &m.hypotheses[0]
	var x [3]prediction
	for i, g := range []*row{{iD: 1}, {iA: 1, iS: 1, iF: -float64(h.offset)}, {iF: 1}} {
		h.predict(&x[i], voice, g)
		for j := range i + 1 {
			law.Cov[i][j] = h.cov(&x[i], &x[j])
			law.Cov[j][i] = law.Cov[i][j]
		}
	}
	law.DelayMS, law.OffsetBeats, law.StepBeats = x[0].mean, x[1].mean, x[2].mean
	return law
}

// Lag returns the lag of a voice in ms (positive = late) with the plate at a place and
// at a beat period in ms, backlash counted, by the likeliest hypothesis.
func (m *Posterior) Lag(voice int, at Place, periodMS float64) (lagMS float64) {
	var l prediction
	m.hypotheses[0].lag(&l, voice, periodMS, at)
	return l.mean
}

// Expect returns what to expect of a lag by all hypotheses together, in ms: the middle of its
// 95 % interval, and half of that in standard uncertainties. Where one hypothesis is all but
// sure, the middle is Lag.
func (m *Posterior) Expect(voice int, at Place, periodMS float64) (lagMS, sdMS float64) {
	lag := m.central(func(i int) normal { return m.hypotheses[i].expect(voice, periodMS, at) }, periodMS)
	return lag.mean, lag.sd
}

// Slope returns the growth of a voice's lag with the period, in beats, with the plate at a place,
// by the likeliest hypothesis.
func (m *Posterior) Slope(voice int, at Place) calib.Belief {
	var p prediction
	h := &m.hypotheses[0]
	h.predict(&p, voice, slopeRow(at.Setting+h.offset, at.Came))
	return calib.Belief{Mean: p.mean, SD: math.Sqrt(h.variance(&p))}
}

// Step returns the plate's step in beats by the likeliest hypothesis, with its standard
// uncertainty by all on average.
func (m Posterior) Step() calib.Belief {
	var variance float64
	var f prediction
	for i, p := range m.posterior {
		m.hypotheses[i].predict(&f, 0, &row{iF: 1})
		variance += p * m.hypotheses[i].variance(&f)
	}
	return calib.Belief{Mean: m.hypotheses[0].step(), SD: math.Sqrt(variance)}
}

// DelayDifference returns by how many ms the delay of a voice is longer than another's, and the
// standard uncertainty of that, as Expect does.
func (m Posterior) DelayDifference(voice, than int) (ms, sdMS float64) {
	slower := m.central(func(i int) normal {
		var a, b prediction
		h := &m.hypotheses[i]
		h.predict(&a, voice, &row{iD: 1})
		h.predict(&b, than, &row{iD: 1})
		return normal{a.mean - b.mean, math.Sqrt(math.Max(h.cov(&a, &a)+h.cov(&b, &b)-2*h.cov(&a, &b), 0))}
	}, math.Inf(1))
	return slower.mean, slower.sd
}

// Residual returns by how many ms a reading that is no part of the fit lies later than the machine
// foretells for the plate at a place, whole beats left out, and the standard uncertainty of
// that: the law's, without what all takes share, and the reading's own.
func (m Posterior) Residual(h Observation, at Place) (byMS, sdMS float64) {
	pool := m.pools[h.Voice]
	expected := m.central(func(i int) normal {
		var l prediction
		w := &m.hypotheses[i]
		w.lag(&l, h.Voice, h.PeriodMS, at)
		return normal{l.mean, math.Sqrt(math.Max(w.variance(&l)-pool.shared, 0) + square(h.sd(pool)) + w.model.scatter)}
	}, h.WrapMS)
	byMS = h.LagMS - expected.mean
	if h.WrapMS > 0 {
		byMS = math.Remainder(byMS, h.WrapMS)
	}
	return byMS, expected.sd
}

// Counts returns how likely it is that the reading of a voice in a take counts.
func (m Posterior) Counts(take, voice int) float64 {
	return m.probability(func(h *hypothesis) bool { return h.aside(take, voice) == Fine })
}

// Given returns the machine for the case that a take's reading of a voice counts, as it does by
// the likeliest hypothesis.
func (m Posterior) Given(take, voice int) *Posterior {
	all, sum := m, m.Counts(take, voice)
	m.hypotheses, m.posterior = nil, nil
	for i := range all.hypotheses {
		if h := &all.hypotheses[i]; h.aside(take, voice) == Fine {
			m.hypotheses, m.posterior = append(m.hypotheses, *h), append(m.posterior, all.posterior[i]/sum)
		}
	}
	return &m
}

// HitsFor returns how many hits a take of a voice needs for Residual to be as uncertain as
// sdMS there; +Inf where no number of them is enough.
func (m Posterior) HitsFor(voice int, at Place, periodMS, sdMS float64) float64 {
	var l prediction
	m.hypotheses[0].lag(&l, voice, periodMS, at)
	known := m.hypotheses[0].variance(&l) - m.pools[voice].shared + m.noise(voice, math.Inf(1))
	if room := square(sdMS) - known; room > 0 {
		return math.Ceil(m.pools[voice].variance / room)
	}
	return math.Inf(1)
}
