package handsfree

import (
	"math"
	"slices"
	"testing"
)

// A player on the edge of what is right hears no flicker: at 3.5 % off with 1 %
// of unevenness, the word stays what it was.
func TestTempoWordDoesNotFlicker(t *testing.T) {
	for seed := range uint64(20) {
		r := random(seed)
		var hits []float64
		word, changes := TempoUnknown, 0
		for i := range 120 {
			hits = append(hits, float64(i)*60/86.7+0.003*r.NormFloat64())
			if w := paceOf(hits, 1).word(word, 84); w != word {
				word, changes = w, changes+1
			}
		}
		if changes > 2 {
			t.Errorf("seed %d: the word changed %d times", seed, changes)
		}
	}
}

// The tempo is that of the last beats, whatever was played before, with hits
// missing and hits too many, and with uneven hits within the beat.
func TestPaceOfLastBeats(t *testing.T) {
	slow := []float64{0, 1, 2, 3, 4, 5}
	var then []float64
	for i := range 6 {
		then = append(then, 5.5+0.5*float64(i))
	}
	var swung []float64
	for i := range 10 {
		swung = append(swung, 0.6*float64(i), 0.6*float64(i)+0.38)
	}
	for _, c := range []struct {
		what    string
		hits    []float64
		perBeat int
		bpm     float64
		steady  bool
	}{
		{"now 120", append(slices.Clone(slow), then...), 1, 120, true},
		{"one missing", []float64{0, 0.5, 1, 2, 2.5, 3, 3.5}, 1, 120, true},
		{"one too many", []float64{0, 0.5, 1, 1.06, 1.5, 2, 2.5}, 1, 120, false},
		{"swung halves", swung, 2, 100, true},
	} {
		p := paceOf(c.hits, c.perBeat)
		if math.Abs(p.bpm-c.bpm) > 0.01 || p.steady != c.steady {
			t.Errorf("%s: %+v, want %g BPM, steady %v", c.what, p, c.bpm, c.steady)
		}
	}
	for _, c := range []struct {
		what string
		hits []float64
	}{
		{"speeding up", []float64{0, 1, 1.9, 2.7, 3.4, 4, 4.5}},
		{"two beats", []float64{0, 0.5, 1}},
		{"after a rest", []float64{0, 0.5, 1, 1.5, 2, 9, 9.5, 10}},
	} {
		if p := paceOf(c.hits, 1); p.steady {
			t.Errorf("%s counts as steady: %+v", c.what, p)
		}
	}
}
