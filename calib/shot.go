package calib

import "math"

// StandardGravity is the standard acceleration of free fall in m/s²,
// exact by definition (3rd CGPM 1901; ISO 80000-3).
const StandardGravity = 9.80665

// Shot is the body that falls: a ball. Its zero value falls as in a vacuum.
type Shot struct {
	DiameterMM float64 // 0 = drag is left out
	KGPerM3    float64 // density: steel 7800, glass 2500, water 998
}

// Drag of a ball. Above a Reynolds number of 1000 the coefficient is 0.44 (Schiller
// and Naumann 1933); air is that of the US Standard Atmosphere 1976 at 15 °C.
const (
	ballDrag   = 0.44
	airKGPerM3 = 1.225
	mmPerM     = 1000
)

// terminal returns the speed in m/s at which drag holds the weight; +Inf without drag.
func (s Shot) terminal() float64 {
	if !(s.DiameterMM > 0) || !(s.KGPerM3 > 0) {
		return math.Inf(1)
	}
	return math.Sqrt(4 * StandardGravity * s.DiameterMM / mmPerM * s.KGPerM3 / (3 * ballDrag * airKGPerM3))
}

// FallMS returns the time in ms that a body takes to fall freely from rest
// through heightMM millimetres. Drag is left out: below 1 m it
// costs a steel or glass ball of 4 mm and more less than 1.2 ms.
func FallMS(heightMM float64) float64 { return Shot{}.FallMS(heightMM) }

// FallMS returns the time in ms that the shot takes to fall from rest through
// heightMM: t = (v/g)·acosh(exp(g·h/v²)) with its terminal speed v, which is exact
// for a drag that grows with the square of the speed, and t = √(2h/g) without any. A
// height of zero or less falls in no time.
func (s Shot) FallMS(heightMM float64) float64 {
	v, metres := s.terminal(), math.Max(heightMM, 0)/mmPerM
	x := StandardGravity * metres / (v * v)
	if !(x > 0) {
		return 1000 * math.Sqrt(2*metres/StandardGravity)
	}
	return 1000 * v / StandardGravity * math.Acosh(math.Exp(x))
}

// HeightMM returns from how high the shot falls in the given time in ms:
// h = (v²/g)·ln cosh(g·t/v). A time of zero or less is no height.
func (s Shot) HeightMM(fallMS float64) float64 {
	t := math.Max(fallMS, 0) / 1000
	v := s.terminal()
	if math.IsInf(v, 1) {
		return mmPerM * StandardGravity * t * t / 2
	}
	return mmPerM * v * v / StandardGravity * math.Log(math.Cosh(StandardGravity*t/v))
}

// Material is what a ball may be made of.
type Material struct {
	Name    string
	KGPerM3 float64 // density
}

// Materials are the usual ones for shot, with round densities: those of steel and
// glass as for Shot, the others from handbooks (from memory). For the air's drag a
// tenth more or less is no matter.
var Materials = []Material{
	{"steel", 7800}, {"lead", 11340}, {"brass", 8500}, {"glass", 2500}, {"wood", 700}, {"plastic", 1200},
}
