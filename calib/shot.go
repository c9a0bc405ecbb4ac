package calib

import "math"

// Shot is the body that falls: a ball. Its zero value falls as in a vacuum.
type Shot struct {
	DiameterMM float64 // 0 = drag is left out
	KGPerM3    float64 // density: steel 7800, glass 2500, water 998
}

// Drag of a ball. Above a Reynolds number of 1000 the coefficient is 0.44 (Schiller
// and Naumann 1933); air is that of the US Standard Atmosphere 1976 at 15 °C.
const (
	ballDrag    = 0.44
	airKGPerM3  = 1.225
	mmPerM      = 1000
	drySpeedMax = 1e6 // m/s, stands for no drag
)

// terminal returns the speed in m/s at which drag holds the weight.
func (s Shot) terminal() float64 {
	if !(s.DiameterMM > 0) || !(s.KGPerM3 > 0) {
		return drySpeedMax
	}
	return math.Sqrt(4 * StandardGravity * s.DiameterMM / mmPerM * s.KGPerM3 / (3 * ballDrag * airKGPerM3))
}

// FallMS returns the time in ms that the shot takes to fall from rest through
// heightMM: t = (v/g)·acosh(exp(g·h/v²)) with its terminal speed v, which is exact
// for a drag that grows with the square of the speed. A height of zero or less
// falls in no time.
func (s Shot) FallMS(heightMM float64) float64 {
	v := s.terminal()
	x := StandardGravity * heightMM / mmPerM / (v * v)
	if v == drySpeedMax || !(x > 0) {
		return FallMS(heightMM)
	}
	return 1000 * v / StandardGravity * math.Acosh(math.Exp(x))
}

// HeightMM returns from how high the shot falls in the given time in ms:
// h = (v²/g)·ln cosh(g·t/v). A time of zero or less is no height.
func (s Shot) HeightMM(fallMS float64) float64 {
	t := math.Max(fallMS, 0) / 1000
	v := s.terminal()
	if v == drySpeedMax {
		return mmPerM * StandardGravity * t * t / 2
	}
	return mmPerM * v * v / StandardGravity * math.Log(math.Cosh(StandardGravity*t/v))
}
