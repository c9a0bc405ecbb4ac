package main

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib/signal"
	"lagwright/internal/soundtest"
	"lagwright/internal/target"
)

// The takes by which the scatter of aligned hits is compared with the least there can be:
// copies of one sound in white noise, since the bound does not apply to unlike sounds.
const (
	copyRate   = 48000.0
	copyEveryS = 0.25
	copyHits   = 60
	copyRoughS = 0.0002 // standard deviation of the picks that are aligned
	// The stretch round a hit that counts as its sound: what aligning compares.
	copyBeforeS, copyAfterS = 0.012, 0.022
	mostOverBound           = 1.5
)

// copiesInNoise compares the scatter of aligned hits with the Cramér-Rao bound for the
// delay of a known signal in white noise, σ²/Σṡ² (Knapp and Carter 1976, IEEE
// Trans. ASSP-24:320-327, at a noiseless copy), at two ratios of signal to noise
// over the stretch round a hit. Each figure is the worst of a low, a middling and
// a high sound; of pure tones beyond about 3 kHz aligning slips by whole turns.
func copiesInNoise() family {
	return family{name: "copies", takes: func(int) int { return 1 }, sums: []sum{
		{"20 dB", 2, target.AtMost("jitter_over_bound_20dB", 0, "times", mostOverBound), "20", slices.Max[[]float64]},
		{"30 dB", 2, target.AtMost("jitter_over_bound_30dB", 0, "times", mostOverBound), "30", slices.Max[[]float64]},
	}, traps: []trap{{"copies", "copies of one sound in white noise, by how much more they scatter than they must", nil, func(ctx context.Context, _ uint64) (p played) {
		p.scores = scores{}
		for name, snrDB := range map[string]float64{"20": 20, "30": 30} {
			for _, hz := range []float64{250, 900, 2500} {
				ratio, err := scatterOfCopies(ctx, hz, snrDB)
				if err != nil {
					p.err = err
				}
				p.scores[name] = append(p.scores[name], ratio)
			}
		}
		return p
	}}}}
}

// scatterOfCopies returns the scatter of the aligned hits of a take in multiples of the
// bound.
func scatterOfCopies(ctx context.Context, hz, snrDB float64) (float64, error) {
	r := rand.New(rand.NewPCG(uint64(hz), uint64(snrDB)))
	sigma, bound := noiseAndBound(hz, snrDB)
	truth, rough := make([]float64, copyHits), make([]signal.Hit, copyHits)
	for i := range truth {
		truth[i] = 0.5 + copyEveryS*float64(i) + r.Float64()/copyRate
		rough[i].TimeS = truth[i] + copyRoughS*r.NormFloat64()
	}
	x := make([]float32, int(copyRate*(truth[copyHits-1]+0.5)))
	for i := range x {
		x[i] = float32(sigma * r.NormFloat64())
	}
	for _, at := range truth {
		for i := int(at * copyRate); i < int(at*copyRate)+int(copyEveryS*copyRate); i++ {
			x[i] += float32(strike(hz, float64(i)/copyRate-at))
		}
	}
	hits, err := signal.Align(ctx, &soundtest.Memory{PerS: copyRate, All: [][]float32{x}}, 1, rough)
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
	n := int((copyBeforeS + copyAfterS) * copyRate)
	for i := range n {
		s, half := float64(i)/copyRate-copyBeforeS, 0.5/copyRate
		x, slope := strike(hz, s), (strike(hz, s+half)-strike(hz, s-half))*copyRate
		power, slopes = power+x*x/float64(n), slopes+slope*slope
	}
	sigma = math.Sqrt(power * math.Pow(10, -snrDB/10))
	return sigma, sigma / math.Sqrt(slopes)
}
