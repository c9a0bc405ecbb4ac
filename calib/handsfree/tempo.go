package handsfree

import (
	"math"
	"slices"
)

// Tempo is how the crank's tempo compares with the target.
type Tempo string

// The words on a tempo.
const (
	TempoUnknown Tempo = ""
	TempoLow     Tempo = "low"
	TempoRight   Tempo = "right"
	TempoHigh    Tempo = "high"
)

// How near a tempo has to be, as a share of the target. The word changes to right
// inside the first, and away from right outside the second, so that it does not
// flicker; hits count inside the third, within which the loop can use a take
// (common practice, no published source).
const (
	rightWithin = 0.03
	rightUntil  = 0.045
	countWithin = 0.08
)

const (
	recentBeats = 4    // tell the tempo: most cranks turn once in as many
	steadyShare = 0.07 // an uneven crank that keeps its tempo varies less from beat to beat (trap "wow": up to 2.5 % to either side)
	restUnits   = 3.5  // times between hits without one: the crank stood still
)

// pace is the tempo of the last few beats.
type pace struct {
	bpm         float64
	steady      bool
	firstS      float64 // of the hits that it was told from
	lastS       float64
	beatsPlayed float64 // that it was told from
}

// paceOf returns the tempo of the last beats of a reference that may lack some
// hits and carry some too many; the zero pace where they do not tell one.
func paceOf(hitsS []float64, perBeat int) pace {
	times, numbers := lastHits(hitsS, recentBeats*perBeat)
	if len(times) < 2 {
		return pace{}
	}
	p := pace{firstS: times[0], lastS: times[len(times)-1]}
	p.beatsPlayed = float64(numbers[len(numbers)-1]-numbers[0]) / float64(perBeat)
	var beats []float64 // times of whole beats: accents between them may be uneven
	for i, n := range numbers {
		if k := slices.Index(numbers, n+perBeat); k >= 0 {
			beats = append(beats, times[k]-times[i])
		}
	}
	if len(beats) < 2 {
		return pace{}
	}
	slices.Sort(beats)
	usual := (beats[(len(beats)-1)/2] + beats[len(beats)/2]) / 2
	p.bpm = 60 / usual
	p.steady = p.beatsPlayed >= recentBeats && beats[len(beats)-1]-beats[0] <= steadyShare*usual
	return p
}

// lastHits returns the last hits that span a number of usual times between hits or
// one that is missing more, each with its number. A hit that comes far too soon after
// another has no number and is left out; before a rest nothing counts.
func lastHits(hitsS []float64, span int) (times []float64, numbers []int) {
	if len(hitsS) < 3 {
		return nil, nil
	}
	unit := usualGap(hitsS[max(0, len(hitsS)-span-2):])
	if !(unit > 0) {
		return nil, nil
	}
	times, numbers = []float64{hitsS[len(hitsS)-1]}, []int{0}
	for i := len(hitsS) - 2; i >= 0 && -numbers[len(numbers)-1] < span; i-- {
		gap := (times[len(times)-1] - hitsS[i]) / unit
		back := numbers[len(numbers)-1] - int(math.Round(gap))
		if gap > restUnits {
			break
		}
		if gap >= 0.5 {
			times, numbers = append(times, hitsS[i]), append(numbers, back)
		}
	}
	slices.Reverse(times)
	slices.Reverse(numbers)
	return times, numbers
}

// usualGap returns the median of the times between hits, of which there are two or more.
func usualGap(hitsS []float64) float64 {
	var gaps []float64
	for i, s := range hitsS[1:] {
		gaps = append(gaps, s-hitsS[i])
	}
	slices.Sort(gaps)
	return gaps[len(gaps)/2]
}

// settled returns from which time on the tempo was as steady as it is now, given
// that it is steady: half a beat before the first such hit, since a voice may
// strike early.
func settled(hitsS []float64, perBeat int, now pace) float64 {
	first := now.firstS
	for k := len(hitsS) - 1; k > 0; k-- {
		p := paceOf(hitsS[:k], perBeat)
		if !p.steady || math.Abs(p.bpm/now.bpm-1) > rightWithin {
			break
		}
		first = p.firstS
	}
	return math.Max(first-30/now.bpm, 0)
}

// word compares a pace with the target, given the word before.
func (p pace) word(before Tempo, targetBPM float64) Tempo {
	if !(p.bpm > 0) {
		return TempoUnknown
	}
	within := rightWithin
	if before == TempoRight {
		within = rightUntil
	}
	switch off := p.bpm/targetBPM - 1; {
	case off < -within:
		return TempoLow
	case off > within:
		return TempoHigh
	}
	return TempoRight
}

// near reports whether hits at the pace are of use, given whether those before
// were.
func (p pace) near(before bool, targetBPM float64) bool {
	within := countWithin
	if before {
		within *= rightUntil / rightWithin
	}
	return p.bpm > 0 && math.Abs(p.bpm/targetBPM-1) <= within
}
