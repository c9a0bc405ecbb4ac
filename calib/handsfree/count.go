package handsfree

import (
	"math"
	"slices"

	"lagwright/calib"
)

// Plan is what a take is to be. Zero values mean the usual, but for the tempo.
type Plan struct {
	TargetBPM        float64
	ToBPM            float64 // above TargetBPM: a sweep, which goes slowly from there to here; 0 = a steady take
	PerBeat          int     // reference hits in a beat; 0 means 1
	Reference, Voice int     // channels, from 1; 0 means 1 and 2
	LimitMS          float64 // the lag within which the voice is tight: as loop.Result has it; 0 means calib.DefaultToleranceMS
	LeastHits        int     // that count before the take may end; 0 means 8
}

// leastHits is how many strikes make a good take (common practice, no published
// source).
const leastHits = 8

// A take and a sweep end after so long, s, and one that nobody plays. A voice that strikes
// every fourth beat covers a threefold range of tempos in about three minutes.
const longestS, LongestSweepS, patientS = 120, 240, 300

func (p Plan) filled() Plan {
	p.PerBeat, p.Reference, p.Voice, p.LeastHits = usual(p.PerBeat, 1), usual(p.Reference, 1), usual(p.Voice, 2), usual(p.LeastHits, leastHits)
	p.LimitMS = usual(p.LimitMS, calib.DefaultToleranceMS)
	return p
}

// usual returns a value, or the usual one where it is not above zero.
func usual[T int | float64](v, usual T) T {
	if v > 0 {
		return v
	}
	return usual
}

// longestS is how long the take may last, s.
func (p Plan) longestS() float64 {
	if p.sweeps() {
		return LongestSweepS
	}
	return longestS
}

// needMS is the half-width of the 95 % interval that is enough: at half the limit
// the loop can tell tight from not tight wherever the lag lies.
func (p Plan) needMS() float64 { return p.LimitMS / 2 }

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
	return part.WidenAs(r)
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
	all := b.CombinedMS()
	rest := calib.Half95 * math.Sqrt(all*all-b.ScatterMS*b.ScatterMS)
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
