package laid

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
)

// madeInstrument returns an instrument that is no relative of the practice machine's:
// a contact whose force is a raised sine strikes modes, each with a phase of its own, as
// the air between does; some strike twice, a click before the body; some ring for a second.
// Soft strikes touch for longer.
func madeInstrument(r *rand.Rand, ringS float64) instrument {
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	type mode struct{ hz, decayS, gain, phase float64 }
	modes := make([]mode, 3+r.IntN(8))
	base := 150 * math.Exp2(between(0, 4))
	for i := range modes {
		hz := base * (1 + float64(i)*between(0.4, 1.3))
		modes[i] = mode{hz, ringS * between(0.3, 1) / math.Sqrt(hz/base), between(0.2, 1) / float64(i+1), between(0, 2*math.Pi)}
	}
	contactS := 0.0002 * math.Pow(10, r.Float64())
	stageS, click := 0.0, 0.0
	if r.IntN(3) == 0 {
		stageS, click = between(0.001, 0.005), between(0.1, 0.25)
	}
	in := instrument{name: "made", ringS: ringS}
	for _, softer := range []float64{1.6, 1.25, 1, 0.8} {
		n := int((leadS + stageS + math.Min(longestS, 5*ringS)) * layRate)
		s := stroke{onsetS: leadS, level: 1 / softer}
		// One stage of it: the force through each mode's own response, sample by sample.
		stage := func(fromS, contactS, up float64) []float64 {
			x := make([]float64, n)
			length := int(contactS * layRate)
			for _, m := range modes {
				turn := 2 * math.Pi * m.hz * up / layRate
				if turn > 0.9*math.Pi {
					continue
				}
				keep := math.Exp(-1 / (m.decayS / up * layRate))
				re, im := 0.0, 0.0
				sin, cos := math.Sincos(turn)
				for i, at := 0, int(fromS*layRate); at < n; i, at = i+1, at+1 {
					force := 0.0
					if i <= length {
						force = (1 - math.Cos(2*math.Pi*float64(i)/float64(length+1))) / float64(length+1)
					}
					re, im = keep*(re*cos-im*sin)+force, keep*(re*sin+im*cos)
					x[at] += m.gain * (re*math.Cos(m.phase) + im*math.Sin(m.phase))
				}
			}
			floats.Scale(1/loudest(x), x)
			return x
		}
		x := stage(leadS+stageS, contactS*softer, 1)
		if click > 0 {
			floats.AddScaled(x, click, stage(leadS, 0.0003, 2))
		}
		peak, fades := loudest(x), fadesS*ringS*layRate // nothing rings and then stops
		for i := range x {
			left := math.Min(1, float64(n-i)/fades)
			x[i] *= left * left / peak
		}
		s.x = x
		in.strikes = append(in.strikes, s)
	}
	return in
}
