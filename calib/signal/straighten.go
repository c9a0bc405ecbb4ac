package signal

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

const (
	baseS      = 0.0015 // of sound before the pick, at most, that the line rests on
	leastBaseS = 0.0003 // and at least; a quick rise needs little
	reachS     = 0.0040 // the first rise is over this long after the pick
	slackS     = 0.0010 // the line begins at most this long before the pick
	mainS      = 0.0005 // a main rise this much later than the first is another sound
	leadS      = 0.0002 // of the first sound is left out when a main rise is looked for
	leakUp     = 0.42   // of the peak: a louder sound before the main rise is part of it
	halfUp     = 0.5    // of the first swing: beyond, a rise is no longer straight
	noisy      = 5      // r.m.s. of the noise that a first swing exceeds
)

// straighten moves a pick, sample k, to where the line that the first rise
// follows leaves the line that the noise lies on: between samples, and free
// of the lateness that noise gives a pick. The bend is where
//
//	x(t) = c + d·t + s·max(0, t−bend)
//
// fits best by least squares. The onset lies within lo..hi.
func straighten(x []float64, k, lo, hi int, rate float64) float64 {
	samples := func(s float64) int { return int(math.Ceil(s * rate)) }
	end := halfRise(x, max(lo, k-samples(baseS)), k, min(hi, k+samples(reachS)))
	end = min(hi, max(end, k+2))
	slack := min(samples(slackS), 2+2*(end-k))
	base := min(samples(baseS), max(samples(leastBaseS), 3*(end-k)))
	start := max(lo, k-slack-base)
	first := float64(max(start+2, k-slack))
	last := float64(end - 2) // a rise of one sample fits wherever it begins
	if end-start < 5 || last <= first {
		return float64(k)
	}
	h := newHinge(x[start:end])
	return float64(start) + h.bend(first-float64(start), last-float64(start))
}

// halfRise returns the sample after that in which the first swing after k has
// passed half its height.
func halfRise(x []float64, start, k, hi int) int {
	quiet := max(start+1, k-(k-start)/3)
	base, spread := stat.PopMeanStdDev(x[start:quiet], nil)
	floor, top := noisy*spread, 0.0
	for i := k; i < hi; i++ {
		v := math.Abs(x[i] - base)
		if v > top {
			top = v
		} else if top > floor && v < 0.7*top {
			break
		}
	}
	for i := k; i < hi; i++ {
		if math.Abs(x[i]-base) >= halfUp*top {
			return i + 1
		}
	}
	return hi
}

func mean(x []float64) float64 { return floats.Sum(x) / float64(max(len(x), 1)) }

// hinge fits two straight lines that meet.
type hinge struct {
	x            []float64
	sx, stx, sxx float64 // sums of x, t·x and x² with t about the middle
}

func newHinge(x []float64) hinge {
	h := hinge{x: x}
	mid := (float64(len(x)) - 1) / 2
	for i, v := range x {
		h.sx, h.stx, h.sxx = h.sx+v, h.stx+(float64(i)-mid)*v, h.sxx+v*v
	}
	return h
}

// bend returns where between first and last they meet for the best fit, to about a
// thousandth of a sample: the best of some places, then of some between its neighbours.
func (h hinge) bend(first, last float64) float64 {
	const steps, finest = 24, 2e-3
	best, least := first, math.Inf(1)
	for lo, hi := first, last; hi-lo > finest; {
		step := (hi - lo) / steps
		for i := range steps + 1 {
			b := lo + float64(i)*step
			if r := h.residual(b); r < least {
				least, best = r, b
			}
		}
		lo, hi = max(first, best-step), min(last, best+step)
	}
	return best
}

// residual returns the sum of squares that the best lines meeting at b leave:
// that of x about its straight line, less what the bend explains.
func (h hinge) residual(b float64) float64 {
	n := float64(len(h.x))
	mid := (n - 1) / 2
	var sr, str, srr, sxr float64 // of r, t·r, r², x·r with r = max(0, t−b)
	for i := max(int(math.Ceil(b)), 0); i < len(h.x); i++ {
		t := float64(i)
		r := t - b
		t -= mid
		sr, str, srr, sxr = sr+r, str+t*r, srr+r*r, sxr+h.x[i]*r
	}
	stt := n * (n*n - 1) / 12
	xx := h.sxx - h.sx*h.sx/n - h.stx*h.stx/stt
	rr := srr - sr*sr/n - str*str/stt
	xr := sxr - h.sx*sr/n - h.stx*str/stt
	if rr <= 0 {
		return xx
	}
	return xx - xr*xr/rr
}
