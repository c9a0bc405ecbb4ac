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
	strays := straysOf(found)
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
	if skew := found.Budget.SkewMS; skew > 0 && r.Used() > 1 {
		r = r.Widen(found.Budget.BeginsMS, calib.Reading{}.Widen(0, 1).Budget.SkewMS/skew) // skew is inverse to the rate
	}
	r.VoiceHitsS = voiceHits(r.Pairs, voice)
	r.Warnings = rework(found, r)
	return r
}

// straysOf returns the voice hits that were found but are not taken for strikes.
func straysOf(found calib.Reading) map[float64]bool {
	strays := map[float64]bool{}
	for _, p := range found.Pairs {
		strays[p.VoiceS] = !p.Used && p.Reason != calib.ReasonFar
	}
	return strays
}

// rework returns the found warnings with those that the hits alone decide made
// again for the reading r.
func rework(found, r calib.Reading) []calib.Warning {
	fromHits := func(w calib.Warning) bool {
		switch w.Code {
		case WarnFewHits, calib.WarnWholeBeat, WarnVague, WarnTrend, calib.WarnRival: // who changes hits has looked at them
			return true
		}
		return false
	}
	kept := slices.DeleteFunc(slices.Clone(found.Warnings), fromHits)
	r.Warnings = kept
	for _, w := range takeWarnings(r) {
		if fromHits(w) {
			kept = append(kept, w)
		}
	}
	return kept
}
