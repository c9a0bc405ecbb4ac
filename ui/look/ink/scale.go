package ink

import "math"

// RoundStep returns the smallest of 1, 2 or 5 times a power of ten that is at
// least least, which must be positive.
func RoundStep(least float64) float64 {
	exponent := int(math.Floor(math.Log10(least)))
	for _, m := range []float64{1, 2, 5} {
		if s := scale10(m, exponent); s >= least*(1-1e-9) {
			return s
		}
	}
	return scale10(10, exponent)
}

// scale10 returns m times ten to the given power, exact where division is.
func scale10(m float64, power int) float64 {
	if power < 0 {
		return m / math.Pow10(-power)
	}
	return m * math.Pow10(power)
}

// Decimals returns how many decimal places tell multiples of step apart.
func Decimals(step float64) int {
	return max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}
