package signal

import (
	"slices"

	"lagwright/calib"
)

// strayDB is how much less a found voice hit that was not used weighs than a
// strike, or than a hit set by hand: enough not to sway the common lag while
// there are strikes, and to make it where there are none left.
const strayDB = 10

// Remeasure makes the reading of a take again after its hits were changed by hand:
// those given are the hits that count now, in order of time in s, and found is
// what Measure said. Warnings of cables and recorders are kept, and so is what
// the budget allows beyond the scatter.
func Remeasure(found calib.Reading, referenceS, voiceS []float64, opt Options) calib.Reading {
	opt = opt.filled()
	reference, voice := make([]Hit, len(referenceS)), make([]Hit, len(voiceS))
	for i, at := range referenceS {
		reference[i].TimeS = at
	}
	strays := map[float64]bool{} // found, but not taken for strikes
	for _, p := range found.Pairs {
		strays[p.VoiceS] = !p.Used && p.Reason != calib.ReasonFar
	}
	for i, at := range voiceS {
		voice[i].TimeS = at
		if strays[at] {
			voice[i].Level = -strayDB
		}
	}
	r := calib.Read(Pairs(reference, voice, opt), referenceS, nil, opt.PerBeat)
	if at, byS := lostBuffer(referenceS); at > 0 && found.Has(calib.WarnLostBuffer) {
		r = r.WithoutGap(referenceS[at], byS)
	}
	r = r.WidenAs(found)
	r.VoiceHitsS = voiceHits(r.Pairs, voice)
	r.Warnings = slices.DeleteFunc(slices.Clone(found.Warnings), func(w calib.Warning) bool { // who changes hits has looked at them
		return slices.Contains([]string{WarnFewHits, calib.WarnWholeBeat, WarnVague, WarnTrend, calib.WarnRival}, w.Code)
	})
	r.Warnings = append(r.Warnings, takeWarnings(r)...)
	return r
}
