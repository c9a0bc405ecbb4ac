package handsfree

import (
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Band is a range of tempos that a sweep has to cover.
type Band struct {
	FromBPM, ToBPM float64
	Hits           int // that count in it
}

// A sweep is covered in bands no wider than bandShare of their tempo, with bandHits hits
// in each: some thirty hits for a set list whose tempos double, over which delay and
// offset are told well apart (common practice, no published source).
const (
	bandShare = 0.08
	bandHits  = 3
)

// Covered reports whether the band has hits enough.
func (b Band) Covered() bool { return b.Hits >= bandHits }

// Share returns how far the band is covered, from 0 to 1.
func (b Band) Share() float64 { return math.Min(float64(b.Hits)/bandHits, 1) }

// sweeps reports whether the take goes from one tempo to another.
func (p Plan) sweeps() bool { return p.ToBPM > p.TargetBPM }

// bands parts the sweep evenly, by the ratio of tempos, and counts a reading's hits.
func (p Plan) bands(r calib.Reading) []Band {
	n := max(int(math.Ceil(math.Log(p.ToBPM/p.TargetBPM)/math.Log1p(bandShare))), 1)
	edge := func(i int) float64 { return p.TargetBPM * math.Pow(p.ToBPM/p.TargetBPM, float64(i)/float64(n)) }
	bands := make([]Band, n)
	for i := range bands {
		bands[i].FromBPM, bands[i].ToBPM = edge(i), edge(i+1)
	}
	bands[0].FromBPM *= 1 - countWithin
	bands[n-1].ToBPM *= 1 + countWithin
	for _, pair := range r.Pairs {
		if bpm := tempoAt(r.ReferenceHitsS, pair.ReferenceS, p.PerBeat); pair.Used && bpm > 0 {
			if i := slices.IndexFunc(bands, func(b Band) bool { return bpm >= b.FromBPM && bpm < b.ToBPM }); i >= 0 {
				bands[i].Hits++
			}
		}
	}
	return bands
}

// tempoAt returns the tempo at a time, by the usual one of the gaps between the reference
// hits about it, in BPM; 0 where there are too few.
func tempoAt(hitsS []float64, atS float64, perBeat int) float64 {
	i, _ := slices.BinarySearch(hitsS, atS)
	about := hitsS[max(i-recentBeats/2*perBeat, 0):min(i+recentBeats/2*perBeat+1, len(hitsS))]
	if len(about) < 3 {
		return 0
	}
	return 60 / (usualGap(about) * float64(perBeat))
}

// next returns the band to play in next: the slowest while none is covered, else the first
// that is not from the tempo played now on, else the last below it; ok is false where all are
// covered.
func (s State) next() (b Band, ok bool) {
	if s.progress.good == 0 {
		return s.bands[0], true
	}
	for _, open := range s.bands {
		if !open.Covered() {
			b, ok = open, true
			if b.ToBPM > s.pace.bpm {
				break
			}
		}
	}
	return b, ok
}

// word says how a tempo compares with a band.
func (b Band) word(bpm float64) Tempo {
	switch {
	case !(bpm > 0):
		return TempoUnknown
	case bpm < b.FromBPM:
		return TempoLow
	case bpm >= b.ToBPM:
		return TempoHigh
	}
	return TempoRight
}

// sweepBig is what a sweep says to whoever turns the crank.
func (s State) sweepBig() string {
	b, ok := s.next()
	middle := math.Sqrt(b.FromBPM * b.ToBPM)
	switch {
	case !ok:
		return i18n.L("Keep this tempo")
	case s.progress.good == 0 && s.tempo != TempoRight:
		return i18n.F("Start slow: %.0f", s.plan.TargetBPM)
	case s.tempo == TempoLow && b.ToBPM > s.plan.ToBPM:
		return i18n.F("Reach %.0f", s.plan.ToBPM)
	case s.tempo == TempoLow:
		return i18n.F("Faster: %.0f", middle)
	case s.tempo == TempoHigh:
		return i18n.F("Slower: %.0f", middle)
	}
	return i18n.L("Keep this tempo")
}

// sweepSmall says how far the sweep has come.
func (s State) sweepSmall() string {
	if !(s.pace.bpm > 0) {
		return i18n.L("Listening for the reference.")
	}
	said := i18n.F("%.0f BPM; %d of %d tempos are covered.", s.pace.bpm, s.progress.good, s.progress.of)
	if s.progress.tight && s.progress.doubtful {
		said += " " + i18n.L("Some hits are in doubt, so it keeps listening.")
	}
	return said
}
