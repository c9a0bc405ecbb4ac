package calib

import (
	"math"

	"lagwright/calib/i18n"
)

// Failures of Fit. Each tells which take would mend it.
var (
	// ErrNoPoints: there is no reading to fit.
	ErrNoPoints = i18n.Fixed(i18n.Say("there is no reading yet: record a take"))
	// ErrUndetermined: the readings leave a combination of D, A and f open.
	ErrUndetermined = i18n.Fixed(i18n.Say("the readings cannot tell step size and delay apart: record a take at another setting, and one at another tempo"))
	// ErrBadPoint: a reading or prior is not a finite number with a positive period.
	ErrBadPoint = i18n.Fixed(i18n.Say("a reading has no finite lag, period or uncertainty: leave that take out"))
)

// Fit returns the law that fits the points best in the sense of weighted least
// squares, each belief of the prior being one more observation. Weights are
// 1/SDMS², and the covariance is that of known uncertainties (ISO/TS 28037:2010,
// 6). Where every SDMS is zero all points weigh the same and the covariance is
// scaled by the residuals (JCGM 100:2008, H.3). LagMS is taken as it is; Explain
// resolves whole beats. It returns ErrNoPoints, ErrBadPoint or ErrUndetermined
// where there is no such law.
func Fit(points []Point, prior Prior) (Law, error) {
	if len(points) == 0 {
		return Law{}, ErrNoPoints
	}
	info, sums := newRoot(prior)
	alike := weighAlike(points)
	for _, p := range points {
		if alike {
			p.SDMS = 1
		}
		if !p.sound() {
			return Law{}, ErrBadPoint
		}
		in := info.join(p)
		in.take(&sums, p.LagMS)
	}
	inv, ok := info.inverse()
	if !ok {
		return Law{}, ErrUndetermined
	}
	law := info.law(inv, sums)
	if alike {
		law.scaleByResiduals()
	}
	return law, nil
}

// weighAlike reports whether no point has an uncertainty.
func weighAlike(points []Point) bool {
	for _, p := range points {
		if p.SDMS != 0 {
			return false
		}
	}
	return true
}

// sound reports whether a law can be built on the point.
func (p Point) sound() bool {
	return p.PeriodMS != 0 && p.SDMS > 0 && finite(p.PeriodMS, p.LagMS, p.SDMS)
}

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// scaleByResiduals makes the covariance that of uncertainties told by the scatter.
func (l *Law) scaleByResiduals() {
	if l.DOF > 0 {
		l.widen(l.ChiSquared / float64(l.DOF))
	}
}
