package plan

import (
	"math"

	"lagwright/calib"
)

// Law returns the law of one voice by the likeliest hypothesis. The start of the plate is
// in the offset.
func (m Posterior) Law(voice int) (law calib.Law) {
	h := &m.hypotheses[0]
	x := h.parameters(voice)
	law.StepBeats, law.DelayMS, law.OffsetBeats = x[0].mean, x[2].mean, x[3].mean
	order := [3]int{2, 3, 0}
	for i := range order {
		for j := range order {
			law.Cov[i][j] = h.cov(&x[order[i]], &x[order[j]])
		}
	}
	return law
}

// Lag returns the lag of a voice in ms (positive = late) with the plate at a place and
// at a beat period in ms, backlash counted, by the likeliest hypothesis.
func (m Posterior) Lag(voice int, at Place, periodMS float64) (lagMS float64) {
	return m.hypotheses[0].lag(voice, periodMS, at).mean
}

// Expect returns what to expect of a lag by all hypotheses together, in ms: the middle of its
// 95 % interval, and half of that in standard uncertainties. Where one hypothesis is all but
// sure, the middle is Lag.
func (m Posterior) Expect(voice int, at Place, periodMS float64) (lagMS, sdMS float64) {
	lag := m.central(m.by(func(h *hypothesis) normal { return h.expect(voice, periodMS, at) }), periodMS)
	return lag.mean, lag.sd
}

// SlopeSD returns the standard uncertainty of the growth of a voice's lag with the period,
// in beats, with the plate at a place, by the likeliest hypothesis.
func (m Posterior) SlopeSD(voice int, at Place) float64 {
	h := &m.hypotheses[0]
	p := h.predict(voice, slopeRow(at.Setting+h.offset, at.Came))
	return math.Sqrt(h.variance(&p))
}

// Step returns the plate's step in beats by the likeliest hypothesis, with its standard
// uncertainty by all on average.
func (m Posterior) Step() calib.Belief {
	var variance float64
	for i, p := range m.posterior {
		f := m.hypotheses[i].predict(0, row{iF: 1})
		variance += p * m.hypotheses[i].variance(&f)
	}
	return calib.Belief{Mean: m.hypotheses[0].step(), SD: math.Sqrt(variance)}
}

// DelayDifference returns by how many ms the delay of a voice is longer than another's, and the
// standard uncertainty of that, as Expect does.
func (m Posterior) DelayDifference(voice, than int) (ms, sdMS float64) {
	all := m.by(func(h *hypothesis) normal {
		a, b := h.predict(voice, row{iD: 1}), h.predict(than, row{iD: 1})
		return normal{a.mean - b.mean, math.Sqrt(math.Max(h.cov(&a, &a)+h.cov(&b, &b)-2*h.cov(&a, &b), 0))}
	})
	slower := m.central(all, math.Inf(1))
	return slower.mean, slower.sd
}

// Residual returns by how many ms a reading that is no part of the fit lies later than the machine
// foretells for the plate at a place, whole beats left out, and the standard uncertainty of
// that: the law's, without what all takes share, and the reading's own.
func (m Posterior) Residual(h Observation, at Place) (byMS, sdMS float64) {
	pool := m.pools[h.Voice]
	all := m.by(func(w *hypothesis) normal {
		l := w.lag(h.Voice, h.PeriodMS, at)
		return normal{l.mean, math.Sqrt(math.Max(w.variance(&l)-pool.shared, 0) + square(h.sd(pool)) + w.model.scatter)}
	})
	expected := m.central(all, h.WrapMS)
	byMS = h.LagMS - expected.mean
	if h.WrapMS > 0 {
		byMS = math.Remainder(byMS, h.WrapMS)
	}
	return byMS, expected.sd
}

// Counts returns how likely it is that the reading of a voice in a take counts.
func (m Posterior) Counts(take, voice int) float64 {
	return m.probability(func(h *hypothesis) bool {
		for f := h.faults; f != nil; f = f.before {
			if f.aside() && f.take == take && f.voice == voice {
				return false
			}
		}
		return true
	})
}

// HitsFor returns how many hits a take of a voice needs for Miss to be as uncertain as
// sdMS there; +Inf where no number of them is enough.
func (m Posterior) HitsFor(voice int, at Place, periodMS, sdMS float64) float64 {
	l := m.hypotheses[0].lag(voice, periodMS, at)
	known := m.hypotheses[0].variance(&l) - m.pools[voice].shared + m.noise(voice, math.Inf(1))
	if room := square(sdMS) - known; room > 0 {
		return math.Ceil(m.pools[voice].variance / room)
	}
	return math.Inf(1)
}
