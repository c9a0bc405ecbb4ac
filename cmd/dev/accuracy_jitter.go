package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib/signal"
	"lagwright/internal/soundtest"
	"lagwright/internal/target"
)

// jitterOverBound is how far above the Cramér-Rao bound the scatter of aligned
// hits may lie.
const jitterOverBound = 1.5

// The takes by which jitter is compared with the bound: copies of one sound in
// white noise, since the bound does not apply to unlike sounds.
const (
	jitterRate   = 48000.0
	jitterEveryS = 0.25
	jitterHits   = 60
	jitterRough  = 0.0002 // s, standard deviation of the picks that are aligned
	// The stretch round a hit that counts as its sound: what aligning compares.
	jitterBeforeS, jitterAfterS = 0.012, 0.022
)

// jitterFigures compares the scatter of aligned hits with the bound for the
// delay of a known signal in white noise, σ²/Σṡ² (Knapp and Carter 1976, IEEE
// Trans. ASSP-24:320-327, at a noiseless copy), at two ratios of signal to noise
// over the stretch round a hit. Each figure is the worst of a low, a middling and
// a high sound; of pure tones beyond about 3 kHz aligning slips by whole turns.
func jitterFigures(ctx context.Context) ([]target.Figure, error) {
	var figures []target.Figure
	for _, snrDB := range []float64{20, 30} {
		worst := 0.0
		for _, hz := range []float64{250, 900, 2500} {
			ratio, err := jitterRatio(ctx, hz, snrDB)
			if err != nil {
				return nil, fmt.Errorf("aligning hits of %g Hz at %g dB: %w", hz, snrDB, err)
			}
			worst = max(worst, ratio)
		}
		figures = append(figures, target.AtMost(fmt.Sprintf("jitter_over_bound_%.0fdB", snrDB), worst, "times", jitterOverBound))
	}
	return figures, nil
}

// jitterRatio returns the scatter of the aligned hits of a take in multiples of
// the bound.
func jitterRatio(ctx context.Context, hz, snrDB float64) (float64, error) {
	r := rand.New(rand.NewPCG(uint64(hz), uint64(snrDB)))
	sigma, bound := noiseAndBound(hz, snrDB)
	truth := make([]float64, jitterHits)
	rough := make([]signal.Hit, jitterHits)
	for i := range truth {
		truth[i] = 0.5 + jitterEveryS*float64(i) + r.Float64()/jitterRate
		rough[i].TimeS = truth[i] + jitterRough*r.NormFloat64()
	}
	hits, err := signal.Align(ctx, copies(r, hz, sigma, truth), 1, rough)
	if err != nil {
		return 0, err
	}
	var off []float64
	for i, h := range hits {
		off = append(off, h.TimeS-truth[i])
	}
	return stat.StdDev(off, nil) / bound, nil
}

// strike is the sound of a strike of a pitch, s seconds after it begins.
func strike(hz, s float64) float64 {
	if s < 0 {
		return 0
	}
	return math.Exp(-s/0.02) * (1 - math.Exp(-s/0.0005)) * math.Sin(2*math.Pi*hz*s)
}

// noiseAndBound returns the noise that lies snrDB below the sound, and the least
// standard deviation in s that a hit's time can have in it.
func noiseAndBound(hz, snrDB float64) (sigma, bound float64) {
	var power, slopes float64
	n := int((jitterBeforeS + jitterAfterS) * jitterRate)
	for i := range n {
		s, half := float64(i)/jitterRate-jitterBeforeS, 0.5/jitterRate
		x, slope := strike(hz, s), (strike(hz, s+half)-strike(hz, s-half))*jitterRate
		power, slopes = power+x*x/float64(n), slopes+slope*slope
	}
	sigma = math.Sqrt(power * math.Pow(10, -snrDB/10))
	return sigma, sigma / math.Sqrt(slopes)
}

// copies plays the sound at each time, in white noise.
func copies(r *rand.Rand, hz, sigma float64, atS []float64) *soundtest.Memory {
	x := make([]float32, int(jitterRate*(atS[len(atS)-1]+0.5)))
	for i := range x {
		x[i] = float32(sigma * r.NormFloat64())
	}
	for _, at := range atS {
		first := int(at * jitterRate)
		for i := first; i < first+int(jitterEveryS*jitterRate); i++ {
			x[i] += float32(strike(hz, float64(i)/jitterRate-at))
		}
	}
	return &soundtest.Memory{PerS: jitterRate, All: [][]float32{x}}
}
