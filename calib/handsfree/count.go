package handsfree

import (
	"math"
	"slices"

	"lagwright/calib"
)

// Part returns the reading of a recording from a time in s on, as if what was
// played before had not been: the hits and pairs from there on, read anew, with
// the same allowances. perBeat is the number of reference hits in a beat.
func Part(r calib.Reading, fromS float64, perBeat int) calib.Reading {
	var pairs []calib.Pair
	for _, p := range r.Pairs {
		if p.ReferenceS < fromS || p.VoiceS < fromS {
			continue
		}
		if p.Reason == calib.ReasonFar { // far from what was played before, perhaps
			p.Used, p.Reason = true, ""
		}
		pairs = append(pairs, p)
	}
	part := calib.Read(pairs, since(r.ReferenceHitsS, fromS), since(r.VoiceHitsS, fromS), perBeat)
	part.Warnings = slices.Clone(r.Warnings)
	if part.Used() < 2 {
		return part
	}
	// Allow is told the rate, and the allowance for skew is inverse to it.
	return part.Widen(r.Budget.BeginsMS, calib.Reading{}.Widen(0, 1).Budget.SkewMS/r.Budget.SkewMS)
}

// since returns the times from one on; they are in order.
func since(times []float64, fromS float64) []float64 {
	i, _ := slices.BinarySearch(times, fromS)
	return slices.Clone(times[i:])
}

// progress is how far a take has come.
type progress struct {
	good, of       int
	halfMS, needMS float64
	told           bool // what is read would do for a take
	tight          bool // the interval is as narrow as it has to be
	floor          bool // no number of hits makes it narrow enough
	doubtful       bool // the hits are in doubt, so that the interval says nothing
	spoilt         bool // a cable spoilt it, so that nothing will be built on it
	mostly         calib.Term
}

// mostHits is the largest number of hits that is asked for.
const mostHits = 99

// progressOf judges the part of a reading that counts.
func progressOf(r calib.Reading, p Plan) progress {
	g := progress{good: r.Used(), of: p.LeastHits, needMS: p.needMS()}
	g.doubtful = r.Has(calib.WarnDoubtful, calib.WarnRival)
	g.spoilt = r.Has(calib.WarnDropOut) // of a dead channel there is nothing to count
	if g.good < calib.MinPairs {
		return g
	}
	b := r.Budget
	g.halfMS, g.mostly = r.HalfWidthMS(), b.Largest()
	g.told = g.good >= p.LeastHits && !g.doubtful && !g.spoilt
	g.tight = g.halfMS <= g.needMS
	rest := 1.96 * math.Sqrt(b.BeginsMS*b.BeginsMS+b.SkewMS*b.SkewMS+b.ClockMS*b.ClockMS)
	g.floor = rest >= g.needMS
	if g.good >= g.of && !g.tight && !g.floor {
		// What hits narrow goes with the root of their number.
		more := (g.halfMS*g.halfMS - rest*rest) / (g.needMS*g.needMS - rest*rest)
		g.of = min(max(int(math.Ceil(float64(g.good)*more)), g.good+1), max(mostHits, g.good+1))
	}
	return g
}

// enough reports whether more hits would change nothing.
func (g progress) enough(p Plan) bool {
	if p.sweeps() {
		return g.tight && !g.doubtful || g.spoilt
	}
	return g.good >= p.LeastHits && (g.tight && !g.doubtful || g.floor || g.spoilt)
}
