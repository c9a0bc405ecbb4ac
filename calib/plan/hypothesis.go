package plan

import (
	"iter"
	"math"
	"slices"
)

// hypothesis is one way to understand the takes: a model of the machine, the faults
// that happened, the whole beats that readings left open, and the joint law that
// follows.
type hypothesis struct {
	model  *model
	voices []*block // never changed, since hypotheses share them, but replaced
	sum    schur
	fit    shared
	offset int // the plate stands so many steps further ahead than told; of a Machine, than the likeliest has it
	faults *fault

	pools []pooled // whose shared variance the delays have too; nil while takes are gone through, which are sure of each other

	log  float64 // of prior times evidence: each reading's density by the takes before it
	seen int     // readings and slopes that the law was fitted to
}

// start returns the hypothesis of a model before any take.
func (k Knowledge) start(m *model) hypothesis {
	h := hypothesis{model: m, log: m.log}
	b := k.voice()
	for range k.Voices {
		h.voices = append(h.voices, &b)
		h.sum.add(&b.schur, 1)
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
	b := h.voices[v]
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

// lag predicts a lag in ms with the plate at a place.
func (h *hypothesis) lag(v int, periodMS float64, p Place) prediction {
	return h.predict(v, gradient(periodMS, p.Setting+h.offset, p.Came))
}

// expect returns a lag as it is to be expected.
func (h *hypothesis) expect(v int, periodMS float64, p Place) normal {
	l := h.lag(v, periodMS, p)
	return normal{l.mean, math.Sqrt(h.variance(&l))}
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
		if h.pools != nil {
			sum += x[0] * y[0] * h.pools[s.voice].shared
		}
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
	h.learn(v, func(b *block) { b.observe(g, y, variance) })
	h.seen++
}

// learn changes what is known of a voice, and brings all up to date with it.
func (h *hypothesis) learn(v int, by func(b *block)) {
	b := *h.voices[v]
	h.voices = slices.Clone(h.voices)
	h.voices[v] = &b
	h.sum.add(&b.schur, -1)
	by(&b)
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

// parameters predicts f, b, and D and A of some voices: A with the start of the plate and
// what it stands further ahead.
func (h *hypothesis) parameters(voices ...int) []prediction {
	all := []prediction{h.predict(voices[0], row{iF: 1}), h.predict(voices[0], row{iB: 1})}
	for _, v := range voices {
		all = append(all, h.predict(v, row{iD: 1}), h.predict(v, row{iA: 1, iS: 1, iF: -float64(h.offset)}))
	}
	return all
}
