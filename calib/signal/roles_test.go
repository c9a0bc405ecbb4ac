package signal

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"
)

// hung is a train of hits: so many, one a period, each off by a scatter, without
// those missed.
func hung(seed uint64, fromS, periodS float64, n int, scatterS float64, missed ...int) []Hit {
	r := rand.New(rand.NewPCG(seed, 9))
	gone := map[int]bool{}
	for _, m := range missed {
		gone[m] = true
	}
	var hits []Hit
	for i := range n {
		if at := fromS + periodS*float64(i) + scatterS*r.NormFloat64(); !gone[i] {
			hits = append(hits, Hit{TimeS: at, Strength: 40})
		}
	}
	return hits
}

// TestSwapped: the reference is the train that strikes more often. Given the right way
// round nothing is swapped, the other way round it is; where nothing tells, all stays as
// it was said.
func TestSwapped(t *testing.T) {
	const crank = 0.0001
	weak := func(pulses, strikes []Hit) []Hit {
		for i := range pulses {
			pulses[i].Level = -25
		}
		all := slices.Concat(pulses, strikes)
		slices.SortFunc(all, func(a, b Hit) int { return cmp.Compare(a.TimeS, b.TimeS) })
		return all
	}
	for _, c := range []struct {
		name             string
		reference, voice []Hit
		tells            bool
	}{
		{"a voice on every fourth beat", hung(1, 1, 0.5, 40, crank), hung(2, 1.2, 2, 10, crank), true},
		{"drops that miss", hung(1, 1, 0.5, 30, crank), hung(2, 1.2, 0.5, 30, crank, 3, 9, 10, 17, 18, 24), true},
		{"pulses of a motor under a voice on every fourth beat", weak(hung(1, 1, 0.1, 200, crank), hung(4, 1.2, 2, 10, crank)), hung(2, 1, 0.5, 40, crank), false},
		{"a reference whose cable was off for ten beats", hung(1, 1, 0.5, 32, crank, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18), hung(2, 1.2, 0.5, 32, crank), false},
		{"nothing that tells", hung(1, 1, 0.5, 30, crank), hung(2, 1.2, 0.5, 30, crank), false},
		{"too few hits", hung(1, 1, 0.5, 2, crank), hung(2, 1.2, 0.5, 2, crank), false},
	} {
		if swapped(regular(c.reference), loud(c.voice, strikes(Pairs(c.reference, c.voice, Options{}), c.voice))) {
			t.Errorf("%s: called swapped the right way round", c.name)
		}
		if got := swapped(regular(c.voice), loud(c.reference, strikes(Pairs(c.voice, c.reference, Options{}), c.reference))); got != c.tells {
			t.Errorf("%s: the wrong way round, swapped is %v", c.name, got)
		}
	}
}
