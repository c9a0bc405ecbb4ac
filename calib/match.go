package calib

import "math"

// FMeasure scores heard times against true ones, both in s: a largest
// one-to-one matching pairs them up within a window in s, ends included, and F is
// the harmonic mean of the shares of heard and of true times that are paired. It
// returns F, 0 where there are no pairs, and their number. It is the F-measure of
// mir_eval.onset (craffel/mir_eval, mir_eval/onset.py and util.py @1fed5327).
func FMeasure(truthS, heardS []float64, windowS float64) (f float64, pairs int) {
	m := matching{truthS, heardS, windowS, make([]int, len(heardS))}
	for i := range truthS {
		if m.augment(i, make([]bool, len(heardS))) {
			pairs++
		}
	}
	if pairs == 0 {
		return 0, 0
	}
	p, r := float64(pairs)/float64(len(heardS)), float64(pairs)/float64(len(truthS))
	return 2 * p * r / (p + r), pairs
}

// matching is a one-to-one matching that grows by one pair at a time.
type matching struct {
	truthS, heardS []float64
	windowS        float64
	mate           []int // of each heard time, 1 + the true time it has
}

// augment looks for a heard time for the true time i, moving others if need be.
func (m matching) augment(i int, seen []bool) bool {
	for j, h := range m.heardS {
		if seen[j] || math.Abs(h-m.truthS[i]) > m.windowS {
			continue
		}
		seen[j] = true
		if m.mate[j] == 0 || m.augment(m.mate[j]-1, seen) {
			m.mate[j] = i + 1
			return true
		}
	}
	return false
}
