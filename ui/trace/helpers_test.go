package trace

import (
	"math/rand/v2"

	"lagwright/calib"
	"lagwright/internal/soundtest"
)

// play returns a take of the given length at 92 BPM whose voice is late by about
// lagMS, with every ninth pair left out.
func play(seconds, lagMS float64) (*soundtest.Memory, calib.Reading) {
	const rate = 8000
	rng := rand.New(rand.NewPCG(3, 9))
	src := soundtest.Of(rate, make([]float32, int(seconds*rate)), make([]float32, int(seconds*rate)))
	for i := range src.Samples[0] {
		src.Samples[0][i] = float32(rng.NormFloat64() * 0.002)
		src.Samples[1][i] = float32(rng.NormFloat64() * 0.0015)
	}
	var r calib.Reading
	r.TempoBPM, r.ReferencePeriodMS, r.LagMS = 92, 60000.0/92, lagMS
	r.LagCI95MS, r.JitterMS = [2]float64{lagMS - 1.4, lagMS + 1.4}, 4
	for at := 0.4; at < seconds-0.3; at += 60.0 / 92 {
		lag := lagMS + rng.NormFloat64()*4
		voice := at + lag/1000
		soundtest.Strike(src.Samples[0], rate, at, 180, 0.02, 0.5+0.2*rng.Float64())
		soundtest.Strike(src.Samples[1], rate, voice, 410, 0.05, 0.06+0.03*rng.Float64())
		p := calib.Pair{ReferenceS: at, VoiceS: voice, LagMS: lag, Used: len(r.Pairs)%9 != 4}
		if !p.Used {
			p.Reason = "the voice sounded twice within 40 ms"
		}
		r.Pairs = append(r.Pairs, p)
		r.ReferenceHitsS = append(r.ReferenceHitsS, at)
		r.VoiceHitsS = append(r.VoiceHitsS, voice)
	}
	return src, r
}
