package plan

import (
	"iter"
	"math"
)

// hypothesis is one way to understand the takes: a model of the machine, the faults
// that happened, the whole beats that readings left open, and the joint law that
// follows.
type hypothesis struct {
	model  *model
	voices []block
	sum    schur
	fit    shared
	offset int // the plate stands so many steps further ahead than told
	faults *fault

	log  float64 // of prior times evidence: each reading's density by the takes before it
	seen int     // readings and slopes that the law was fitted to
}

// start returns the hypothesis of a model before any take.
func (k Knowledge) start(m *model) hypothesis {
	h := hypothesis{model: m, voices: make([]block, k.Voices), log: m.log}
	for v := range h.voices {
		h.voices[v] = k.voice()
		h.sum.add(&h.voices[v].schur, 1)
	}
	h.fit = h.sum.solve(m.prior, m.free)
	return h
}

// prediction is a quantity by a hypothesis: its mean, and its gradient by the
// voice's own and the shared parameters once these are told apart.
type prediction struct {
	voice int
	own   [2]float64
	other vector
	mean  float64
}

// predict returns what a hypothesis says of a row of a voice.
func (h *hypothesis) predict(v int, g row) prediction {
	b := &h.voices[v]
	p := prediction{voice: v, own: [2]float64{g[iD], g[iA]}}
	for i, m := range h.model.mean {
		p.mean += g[i] * m
	}
	for j := range nShared {
		p.other[j] = g[iF+j] - b.gain[0][j]*g[iD] - b.gain[1][j]*g[iA]
		p.mean += p.other[j] * h.fit.x[j]
	}
	p.mean += g[iD]*b.at[iD] + g[iA]*b.at[iA]
	return p
}

// lag predicts a lag in ms with the plate at a place as told.
func (h *hypothesis) lag(v int, periodMS float64, p Place) prediction {
	return h.predict(v, gradient(periodMS, p.Setting+h.offset, p.Came))
}

// cov returns the covariance of two predictions.
func (h *hypothesis) cov(s, t *prediction) float64 {
	x, y, m := &s.other, &t.other, &h.fit.cov
	var sum float64
	for i := range x {
		sum += x[i] * (m[i][0]*y[0] + m[i][1]*y[1] + m[i][2]*y[2])
	}
	if s.voice == t.voice {
		x, y, m := &s.own, &t.own, &h.voices[s.voice].inv
		sum += x[0]*(m[0][0]*y[0]+m[0][1]*y[1]) + x[1]*(m[1][0]*y[0]+m[1][1]*y[1])
	}
	return sum
}

// variance returns that of a prediction.
func (h *hypothesis) variance(p *prediction) float64 { return math.Max(h.cov(p, p), 0) }

// observe lets the hypothesis learn of an observation of a voice.
func (h *hypothesis) observe(v int, g row, y, variance float64) {
	for i, m := range h.model.mean {
		y -= g[i] * m
	}
	h.voices[v].observe(g, y, variance)
	h.solve(v)
	h.seen++
}

// share widens the delays by what all takes of a voice have alike: they are sure of each
// other, but the voice's true lag is that much less sure. No take can be added after it.
func (h *hypothesis) share(pools []pooled) {
	for v := range h.voices {
		h.voices[v].shared = pools[v].shared
		h.voices[v].inv[iD][iD] += pools[v].shared
	}
}

// read returns the covariance of two lags as takes read them.
func (h *hypothesis) read(s, t *prediction) float64 {
	cov := h.cov(s, t)
	if s.voice == t.voice {
		cov -= s.own[iD] * t.own[iD] * h.voices[s.voice].shared
	}
	return cov
}

// solve brings all up to date with the information on a voice.
func (h *hypothesis) solve(v int) {
	b := &h.voices[v]
	h.sum.add(&b.schur, -1)
	b.solve()
	h.sum.add(&b.schur, 1)
	h.fit = h.sum.solve(h.model.prior, h.model.free)
}

// starting reports whether the hypothesis has a start to learn and no reading yet:
// then whole beats of the first one belong to the start.
func (h *hypothesis) starting() bool { return h.seen == 0 && h.model.free[iS-iF] }

// step returns f in beats.
func (h *hypothesis) step() float64 { return h.model.mean[iF] + h.fit.x[0] }

// all goes through the faults of a hypothesis, that of its model first and then the
// last take's.
func (h *hypothesis) all() iter.Seq[*fault] {
	return func(yield func(*fault) bool) {
		if kind := h.model.fault; kind != Fine && !yield(&fault{kind: kind, take: -1, voice: -1}) {
			return
		}
		for f := h.faults; f != nil && yield(f); f = f.before {
		}
	}
}

// supposes reports whether a hypothesis holds a fault.
func (h *hypothesis) supposes(g *fault) bool {
	for f := range h.all() {
		if f.kind == g.kind && f.take == g.take && f.voice == g.voice && f.steps == g.steps {
			return true
		}
	}
	return false
}

// parameters predicts f, b, and D and A of some voices: A for the plate as it is said to
// stand, with its start and what it stands further ahead.
func (h *hypothesis) parameters(voices ...int) []prediction {
	all := []prediction{h.predict(voices[0], row{iF: 1}), h.predict(voices[0], row{iB: 1})}
	for _, v := range voices {
		all = append(all, h.predict(v, row{iD: 1}), h.predict(v, row{iA: 1, iS: 1, iF: -float64(h.offset)}))
	}
	return all
}
