package plan

import "math"

// Each voice's D and A touch only each other and the few parameters that all voices
// share: f, the backlash b and the start of the plate. So the information (inverse
// covariance) on all parameters is solved voice by voice, by Schur complements: a
// few dozen multiplications, where a dense matrix of 20 voices costs thousands. The
// tests hold the two against each other.

// Places of the parameters in a row.
const (
	iD = iota // delay of the voice, ms
	iA        // offset of the voice, beats
	iF        // step, beats
	iB        // backlash, beats
	iS        // start: what the plate's place at setting 0 adds to every A, beats
	nRow
	nShared = nRow - iF
)

// row is the gradient of a lag by D, A, f, b and the start.
type row [nRow]float64

// free says which of the shared parameters a model leaves open, matrix is over them.
type (
	free   [nShared]bool
	vector [nShared]float64
	matrix [nShared][nShared]float64
)

// gradient is the row of a lag at a period in ms, at a setting in steps that was
// reached by turning the given way. Turned ahead, the programme stays behind by
// the slack, so the voice is late by b.
func gradient(periodMS float64, setting, came int) row {
	return row{1, periodMS, -float64(setting) * periodMS, float64(came) * periodMS, periodMS}
}

// slopeRow is the row of the growth of a lag with the period.
func slopeRow(setting, came int) row {
	g := gradient(1, setting, came)
	g[iD] = 0
	return g
}

// block is what is known of one voice: information on its own and the shared
// parameters, as deviations from their means before any take.
type block struct {
	info  [nRow][nRow]float64
	rhs   row
	schur schur // what it says of the shared parameters once D and A are solved for

	inv  [2][2]float64 // inverse of the information on D and A
	gain [2]vector     // inv times the information between (D, A) and the shared
	at   [2]float64    // inv times rhs
}

// schur is the information on the shared parameters that voices add up to.
type schur struct {
	info matrix
	rhs  vector
}

func (p *schur) add(q *schur, sign float64) {
	for i := range nShared {
		for j := range nShared {
			p.info[i][j] += sign * q.info[i][j]
		}
		p.rhs[i] += sign * q.rhs[i]
	}
}

// observe adds an observation that lies dy off what the means say.
func (b *block) observe(g row, dy, variance float64) {
	for i := range g {
		for j := range g {
			b.info[i][j] += g[i] * g[j] / variance
		}
		b.rhs[i] += g[i] * dy / variance
	}
}

// barely is the share of a parameter's information below which what is left of it,
// once another is known, is rounding noise.
const barely = 1e-14

// solve eliminates A and then D, one after the other: by their inverse at once, the
// large informations of an A that a start shares would cancel each other's digits.
func (b *block) solve() {
	m := &b.info
	byA := m[iD][iA] / m[iA][iA]
	pivot := math.Max(m[iD][iD]-m[iD][iA]*byA, barely*m[iD][iD])
	b.inv = [2][2]float64{{1 / pivot, -byA / pivot}, {-byA / pivot, 1/m[iA][iA] + byA*byA/pivot}}
	atA := b.rhs[iA] / m[iA][iA]
	b.at[iD] = (b.rhs[iD] - m[iD][iA]*atA) / pivot
	b.at[iA] = atA - byA*b.at[iD]
	var left, right vector
	for j := range nShared {
		right[j] = m[iA][iF+j] / m[iA][iA]
		left[j] = m[iD][iF+j] - m[iD][iA]*right[j]
		b.gain[iD][j] = left[j] / pivot
		b.gain[iA][j] = right[j] - byA*b.gain[iD][j]
	}
	for i := range nShared {
		for j := range nShared {
			b.schur.info[i][j] = m[iF+i][iF+j] - m[iA][iF+i]*right[j] - left[i]*b.gain[iD][j]
		}
		b.schur.rhs[i] = b.rhs[iF+i] - m[iA][iF+i]*atA - left[i]*b.at[iD]
	}
}

// blur adds to the variance of one parameter of the voice, as when its pin or gate
// was changed.
func (b *block) blur(i int, sd float64) {
	lost, known := b.info[i], b.rhs[i]
	scale := lost[i] + 1/(sd*sd)
	for j := range nRow {
		for k := range nRow {
			b.info[j][k] -= lost[j] * lost[k] / scale
		}
		b.rhs[j] -= lost[j] * known / scale
	}
}

// shared is the solution for the shared parameters.
type shared struct {
	cov matrix
	x   vector // deviations from the means
}

// solve solves for the shared parameters that are free, by sweeping their
// information (Beaton 1964, from memory).
func (p *schur) solve(prior vector, free free) (s shared) {
	a := p.info
	for i := range a {
		a[i][i] += prior[i]
	}
	least := [nShared]float64{a[0][0] * barely, a[1][1] * barely, a[2][2] * barely}
	for k := range a {
		if free[k] {
			a.sweep(k, least[k])
		}
	}
	for i := range a {
		for j := range a {
			if free[i] && free[j] {
				s.cov[i][j] = -a[i][j]
				s.x[i] += s.cov[i][j] * p.rhs[j]
			}
		}
	}
	return s
}

// sweep solves for parameter k. Once all are swept the matrix is the inverse with
// its sign turned round.
func (a *matrix) sweep(k int, least float64) {
	pivot := math.Max(a[k][k], least)
	for i := range a {
		for j := range a {
			if i != k && j != k {
				a[i][j] -= a[i][k] * a[k][j] / pivot
			}
		}
	}
	for i := range a {
		if i != k {
			a[i][k] /= pivot
			a[k][i] /= pivot
		}
	}
	a[k][k] = -1 / pivot
}
