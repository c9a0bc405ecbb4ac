package plan

import "math"

// The information (inverse covariance) on all parameters of a machine has the
// shape of an arrow: each voice's D and A touch only each other and the two that
// all voices share, f and the backlash b. Solving it voice by voice costs a few
// dozen multiplications, where a dense matrix of 20 voices costs thousands; the
// tests hold the two against each other.

// Places of the parameters in a row.
const (
	iD = iota // delay of the voice, ms
	iA        // offset of the voice, beats
	iF        // step, beats
	iB        // backlash, beats
	nRow
)

// row is the gradient of a lag by D, A, f and b.
type row [nRow]float64

// at is the row of a lag at a period in ms, at a setting in steps that was
// reached by turning the given way. Turned ahead, the programme stays behind by
// the slack, so the voice is late by b.
func at(periodMS, setting float64, came int) row {
	return row{1, periodMS, -setting * periodMS, float64(came) * periodMS}
}

// block is what is known of one voice: information on D, A, f and b, as
// deviations from their means before any take.
type block struct {
	info [nRow][nRow]float64
	rhs  row
	part part // what it says of f and b once D and A are solved for
	det  bool // D and A are determined

	inv  [2][2]float64 // inverse of the information on D and A
	gain [2][2]float64 // inv times the information between (D, A) and (f, b)
	at   [2]float64    // inv times rhs
}

// part is a voice's share of the sums over all voices.
type part struct {
	info           [2][2]float64
	rhs            [2]float64
	explained, log float64 // chi-squared that D and A explain; log-determinant of their information
}

func (p *part) add(q part, sign float64) {
	for i := range 2 {
		for j := range 2 {
			p.info[i][j] += sign * q.info[i][j]
		}
		p.rhs[i] += sign * q.rhs[i]
	}
	p.explained += sign * q.explained
	p.log += sign * q.log
}

// observe adds an observation that lies dy off what the means say.
func (b *block) observe(g row, dy, sd float64) {
	w := 1 / (sd * sd)
	for i := range g {
		for j := range g {
			b.info[i][j] += w * g[i] * g[j]
		}
		b.rhs[i] += w * g[i] * dy
	}
}

// barely is the share of the product of two parameters' informations below which
// their determinant is rounding noise.
const barely = 1e-12

// solve eliminates D and A.
func (b *block) solve() {
	m := &b.info
	det := m[0][0]*m[1][1] - m[0][1]*m[0][1]
	floor := barely * m[0][0] * m[1][1]
	b.det = det > floor
	det = math.Max(det, floor)
	b.inv = [2][2]float64{{m[1][1] / det, -m[0][1] / det}, {-m[0][1] / det, m[0][0] / det}}
	for i := range 2 {
		b.at[i] = b.inv[i][0]*b.rhs[0] + b.inv[i][1]*b.rhs[1]
		for j := range 2 {
			b.gain[i][j] = b.inv[i][0]*m[0][2+j] + b.inv[i][1]*m[1][2+j]
		}
	}
	b.part = part{explained: b.rhs[0]*b.at[0] + b.rhs[1]*b.at[1], log: math.Log(det)}
	for i := range 2 {
		for j := range 2 {
			b.part.info[i][j] = m[2+i][2+j] - m[0][2+i]*b.gain[0][j] - m[1][2+i]*b.gain[1][j]
		}
		b.part.rhs[i] = b.rhs[2+i] - m[0][2+i]*b.at[0] - m[1][2+i]*b.at[1]
	}
}

// loosen makes one parameter of the voice unsure by a further standard deviation,
// as when its pin or gate was changed. It returns the log-determinant that the
// parameter as it was takes with it.
func (b *block) loosen(i int, sd float64) (explained, log float64) {
	lost := b.info[i]
	scale := lost[i] + 1/(sd*sd)
	known := b.rhs[i]
	for j := range nRow {
		for k := range nRow {
			b.info[j][k] -= lost[j] * lost[k] / scale
		}
		b.rhs[j] -= lost[j] * known / scale
	}
	return known * known / scale, math.Log(sd * sd * scale)
}

// shared is the solution for f and b.
type shared struct {
	cov            [2][2]float64
	x              [2]float64 // deviations from the means
	explained, log float64
}

// solveShared solves for the shared parameters that are free.
func (p part) solveShared(prior [2]float64, free [2]bool) (s shared) {
	a, d, c := p.info[0][0]+prior[0], p.info[1][1]+prior[1], p.info[0][1]
	switch {
	case free[0] && free[1]:
		det := math.Max(a*d-c*c, barely*a*d)
		s.cov = [2][2]float64{{d / det, -c / det}, {-c / det, a / det}}
		s.log = math.Log(det)
	case free[0]:
		s.cov[0][0], s.log = 1/a, math.Log(a)
	case free[1]:
		s.cov[1][1], s.log = 1/d, math.Log(d)
	}
	for i := range 2 {
		s.x[i] = s.cov[i][0]*p.rhs[0] + s.cov[i][1]*p.rhs[1]
		s.explained += s.x[i] * p.rhs[i]
	}
	return s
}
