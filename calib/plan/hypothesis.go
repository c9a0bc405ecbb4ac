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
	voices []own // its alone while takes are gone through
	shared shared
	offset int // the plate stands so many steps further ahead than told; of a Posterior, than the likeliest has it
	faults *fault

	pools []pooled // whose shared variance the delays have too; nil while takes are gone through, which are sure of each other

	log  float64 // of prior times evidence: each reading's density by the takes before it
	seen int     // readings and slopes that the law was fitted to

	branches int // that go on from it at the reading met
}

// start returns the hypothesis of a model before any take.
func (k Knowledge) start(m *model) hypothesis {
	d, a := k.Prior.Delay, k.Prior.Offset
	o := own{at: [2]float64{d.Mean, a.Mean}, d: [2]float64{square(spread(d, vagueMS)), square(m.offset)}}
	return hypothesis{model: m, log: m.log, shared: m.shared, voices: slices.Repeat([]own{o}, k.Voices)}
}

// prediction is a quantity by a hypothesis: its mean, and its gradient by the
// voice's own and the shared parameters once these are told apart.
type prediction struct {
	voice int
	own   [2]float64
	other vector
	mean  float64
}

// predict works out what a hypothesis says of a row of a voice. It does so in place: to copy a
// prediction takes longer than to work it out.
func (h *hypothesis) predict(p *prediction, v int, g *row) {
	o := &h.voices[v]
	mean := g[iD]*o.at[iD] + g[iA]*o.at[iA]
	for j := range p.other {
		other := g[iF+j] - (o.gain[iD][j]*g[iD] + o.gain[iA][j]*g[iA])
		mean += other * h.shared.x[j]
		p.other[j] = other
	}
	p.voice, p.own[iD], p.own[iA], p.mean = v, g[iD], g[iA], mean
}

// lag predicts a lag in ms with the plate at a place.
func (h *hypothesis) lag(l *prediction, v int, periodMS float64, p Place) {
	h.predict(l, v, gradient(periodMS, p.Setting+h.offset, p.Came))
}

// expect returns a lag as it is to be expected.
func (h *hypothesis) expect(v int, periodMS float64, p Place) normal {
	var l prediction
	h.lag(&l, v, periodMS, p)
	return normal{l.mean, math.Sqrt(h.variance(&l))}
}

// cov returns the covariance of two predictions.
func (h *hypothesis) cov(s, t *prediction) float64 {
	sum := h.shared.cov(&s.other, &t.other)
	if s.voice == t.voice {
		sum += h.voices[s.voice].cov(&s.own, &t.own)
		if h.pools != nil {
			sum += s.own[iD] * t.own[iD] * h.pools[s.voice].shared
		}
	}
	return sum
}

// variance returns that of a prediction.
func (h *hypothesis) variance(p *prediction) float64 { return h.cov(p, p) }

// observe lets the hypothesis learn of an observation of a voice, and returns how far that lay
// from what it expected, and the variance of that.
func (h *hypothesis) observe(v int, g *row, y, variance float64) (off, all float64) {
	h.seen++
	var p prediction
	h.predict(&p, v, g)
	o := &h.voices[v]
	kD, kA, all := o.observe(g[iD], g[iA], variance)
	off = y - p.mean
	own := off
	if h.shared.d != (vector{}) {
		own = y - g[iD]*o.at[iD] - g[iA]*o.at[iA] // what follows from the shared parameters is in the gain
		all = h.shared.observe(&p.other, off, all)
		for j, g := range p.other {
			o.gain[iD][j] += kD * g
			o.gain[iA][j] += kA * g
		}
	}
	o.at[iD] += kD * own
	o.at[iA] += kA * own
	return off, all
}

// starting reports whether the hypothesis has a start to learn and no reading yet:
// then whole beats of the first one belong to the start.
func (h *hypothesis) starting() bool { return h.seen == 0 && h.model.shared.d[iS-iF] > 0 }

// aside returns why a take's reading of a voice does not count; Fine where it does.
func (h *hypothesis) aside(take, voice int) Kind {
	for f := h.faults; f != nil && f.take >= take; f = f.before {
		if f.take == take && (f.voice == voice || f.voice < 0) && (f.kind == Bad || f.kind == WrongVoice || f.kind == Crossed) {
			return f.kind
		}
	}
	return Fine
}

// step returns f in beats.
func (h *hypothesis) step() float64 { return h.shared.x[0] }

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
		if f.kind == g.kind && f.take == g.take && f.voice == g.voice && f.steps == g.steps && f.of == g.of {
			return true
		}
	}
	return false
}
