package calib

import "math"

// FMeasure scores heard times against true ones, both in s and in order: a largest
// one-to-one matching pairs them up within a window in s, ends included, and F is
// the harmonic mean of the shares of heard and of true times that are paired. It
// returns F, 0 where there are no pairs, and their number. It is the F-measure of
// mir_eval.onset (craffel/mir_eval, mir_eval/onset.py and util.py @1fed5327).
func FMeasure(truthS, heardS []float64, windowS float64) (f float64, pairs int) {
	for i, j := 0, 0; i < len(truthS) && j < len(heardS); {
		switch off := heardS[j] - truthS[i]; {
		case math.Abs(off) <= windowS: // whoever comes first gains nothing by leaving it to a later one
			pairs, i, j = pairs+1, i+1, j+1
		case off < 0:
			j++
		default:
			i++
		}
	}
	if pairs == 0 {
		return 0, 0
	}
	p, r := float64(pairs)/float64(len(heardS)), float64(pairs)/float64(len(truthS))
	return 2 * p * r / (p + r), pairs
}
