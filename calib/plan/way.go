package plan

import "math"

// way is one way to understand the takes: a model of the machine, the faults that
// happened, the whole beats that readings left open, and the joint law that
// follows. A way is never changed once it is in a list; voices are shared between
// ways until one learns of them.
type way struct {
	model  *model
	voices []*block
	sum    part
	fit    shared
	offset int // the plate stands so many steps further ahead than told
	faults *fault

	chi  float64 // sum of the squared weighted deviations from the means
	seen int     // readings and slopes that the law was fitted to
	log  float64 // log-likelihood of all but chi and the determinants
}

func (k Knowledge) start(m *model) way {
	w := way{model: m, voices: make([]*block, k.Voices), log: m.log}
	for v := range w.voices {
		w.voices[v] = k.voice()
		w.sum.add(&w.voices[v].part, 1)
	}
	w.fit = w.sum.solveShared(m.prior, m.free)
	return w
}

// chiSquared is the weighted sum of squared residuals, priors included.
func (w *way) chiSquared() float64 { return math.Max(w.chi-w.sum.explained-w.fit.explained, 0) }

// score is the logarithm of how well the way explains the takes times how likely
// it is before any: the evidence of a linear model with normal errors. The
// determinants charge each parameter that a way sets free for what it could have
// explained besides; for long sessions that is the penalty of the Bayesian
// information criterion.
func (w *way) score() float64 {
	return w.log - (w.chiSquared()+w.sum.log+w.fit.log-w.model.logF)/2
}

// view is a lag as a way sees it: its mean, and its gradient by the voice's own
// and the shared parameters once these are told apart.
type view struct {
	voice int
	own   [2]float64
	other vector
	mean  float64
}

// look returns the lag of a voice at a row.
func (w *way) look(v int, g row) view {
	b := w.voices[v]
	s := view{voice: v, own: [2]float64{g[iD], g[iA]}}
	for i, m := range w.model.mean {
		s.mean += g[i] * m
	}
	for j := range nShared {
		s.other[j] = g[iF+j] - b.gain[0][j]*g[iD] - b.gain[1][j]*g[iA]
		s.mean += s.other[j] * w.fit.x[j]
	}
	s.mean += g[iD]*b.at[iD] + g[iA]*b.at[iA]
	return s
}

// cov returns the covariance of two lags from the uncertainty of the law.
func (w *way) cov(s, t *view) float64 {
	x, y, m := &s.other, &t.other, &w.fit.cov
	var sum float64
	for i := range x {
		sum += x[i] * (m[i][0]*y[0] + m[i][1]*y[1] + m[i][2]*y[2])
	}
	if s.voice == t.voice {
		x, y, m := &s.own, &t.own, &w.voices[s.voice].inv
		sum += x[0]*(m[0][0]*y[0]+m[0][1]*y[1]) + x[1]*(m[1][0]*y[0]+m[1][1]*y[1])
	}
	return sum
}

// learn returns the way once a voice's block is another.
func (w way) learn(v int, b *block) way {
	w.sum.add(&w.voices[v].part, -1)
	w.sum.add(&b.part, 1)
	w.fit = w.sum.solveShared(w.model.prior, w.model.free)
	return w
}

// suppose returns the way with one more fault.
func (w way) suppose(f fault, log float64) way {
	if f.kind != Fine {
		f.before = w.faults
		w.faults = &f
	}
	w.log += log
	w.offset += f.steps
	return w
}
