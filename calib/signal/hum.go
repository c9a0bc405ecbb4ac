package signal

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	humHarmonics = 5     // of the mains frequency are taken out
	humRows      = 600   // samples that the fit uses at most
	humLeastS    = 0.025 // of quiet sound that shows a whole turn of the mains
	humShare     = 0.8   // of the quiet sound's energy must be hum
)

// steadied returns x less the mean of its quiet part, x[from:from+n], and less
// the mains hum that the quiet part shows, carried on through the hit.
func steadied(x []float64, from, n int, rate float64) []float64 {
	y := make([]float64, len(x))
	level := mean(x[from : from+n])
	for i, v := range x {
		y[i] = v - level
	}
	quiet := y[from : from+n]
	if float64(n) < humLeastS*rate || !smooth(quiet) {
		return y
	}
	best, least := []float64(nil), (1-humShare)*energy(quiet)
	for _, hz := range []float64{50, 60} {
		if z, ok := withoutHum(y, from, n, 2*math.Pi*hz/rate); ok {
			if left := energy(z[from : from+n]); left < least {
				best, least = z, left
			}
		}
	}
	if best != nil {
		return best
	}
	return y
}

// withoutHum takes out of y the constant and the harmonics of an angular
// frequency, in radians a sample, that fit y[from:from+n] best.
func withoutHum(y []float64, from, n int, turn float64) ([]float64, bool) {
	const unknowns = 1 + 2*humHarmonics
	stride := 1 + n/humRows
	rows := n / stride
	a, b := mat.NewDense(rows, unknowns, nil), mat.NewVecDense(rows, nil)
	for r := range rows {
		i := from + r*stride
		harmonics(a.RawRowView(r), turn*float64(i))
		b.SetVec(r, y[i])
	}
	var c mat.VecDense
	if err := c.SolveVec(a, b); err != nil {
		return nil, false
	}
	z, row := make([]float64, len(y)), make([]float64, unknowns)
	for i := range y {
		harmonics(row, turn*float64(i))
		z[i] = y[i]
		for k, v := range row {
			z[i] -= c.AtVec(k) * v
		}
	}
	return z, true
}

// harmonics fills row with 1 and the sines and cosines of an angle's multiples,
// each by turning the one before.
func harmonics(row []float64, phase float64) {
	sin, cos := math.Sincos(phase)
	row[0], row[1], row[2] = 1, sin, cos
	for k := 2; k <= humHarmonics; k++ {
		s, c := row[2*k-3], row[2*k-2]
		row[2*k-1], row[2*k] = s*cos+c*sin, c*cos-s*sin
	}
}

// smooth reports whether a sound moves so little from sample to sample that it
// could be hum: of white noise, the differences have twice the energy.
func smooth(x []float64) bool {
	var moves float64
	for i := 1; i < len(x); i++ {
		moves += (x[i] - x[i-1]) * (x[i] - x[i-1])
	}
	return moves < 2.5*(1-humShare)*energy(x)
}
