package calib

import "math"

// StandardGravity is the standard acceleration of free fall in m/s²,
// exact by definition (3rd CGPM 1901; ISO 80000-3).
const StandardGravity = 9.80665

// FallMS returns the time in ms that a body takes to fall freely from rest
// through heightMM millimetres: t = √(2h/g). Drag is left out: below 1 m it
// costs a steel or glass ball of 4 mm and more less than 1.2 ms.
// A height of zero or less falls in no time.
func FallMS(heightMM float64) float64 {
	if !(heightMM > 0) {
		return 0
	}
	return 1000 * math.Sqrt(2*heightMM/1000/StandardGravity)
}
