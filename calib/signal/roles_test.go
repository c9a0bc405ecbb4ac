package signal

import (
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

// TestSwapped: the reference is the train that strikes more often, lacks fewer
// hits, or scatters less. Given the right way round nothing is swapped, the
// other way round it is; where nothing tells, all stays as it was said.
func TestSwapped(t *testing.T) {
	const crank, gate = 0.0001, 0.003
	faint := func(hits []Hit) []Hit {
		for i := range hits {
			hits[i].Strength = 12
		}
		return hits
	}
	weak := func(pulses, strikes []Hit) []Hit {
		for i := range pulses {
			pulses[i].Level = -25
		}
		all := slices.Concat(pulses, strikes)
		slices.SortFunc(all, func(a, b Hit) int { return sign(a.TimeS - b.TimeS) })
		return all
	}
	for _, c := range []struct {
		name             string
		reference, voice []Hit
		tells, loose     bool // loose: whether it tells where a cable is loose
	}{
		{"a voice on every fourth beat", hung(1, 1, 0.5, 40, crank), hung(2, 1.2, 2, 10, crank), true, true},
		{"drops that miss", hung(1, 1, 0.5, 30, crank), hung(2, 1.2, 0.5, 30, crank, 3, 9, 10, 17, 18, 24), true, false},
		{"hits that may go unheard", hung(1, 1, 0.5, 30, crank), faint(hung(2, 1.2, 0.5, 30, crank, 3, 9, 10, 17, 18, 24)), false, false},
		{"pulses of a motor under a voice on every fourth beat", weak(hung(1, 1, 0.1, 200, crank), hung(4, 1.2, 2, 10, crank)), hung(2, 1, 0.5, 40, crank), false, false},
		{"a gate that scatters", hung(1, 1, 0.5, 30, crank), hung(2, 1.2, 0.5, 30, gate), true, false},
		{"nothing that tells", hung(1, 1, 0.5, 30, crank), hung(2, 1.2, 0.5, 30, crank), false, false},
		{"too few hits", hung(1, 1, 0.5, 2, crank), hung(2, 1.2, 0.5, 2, gate), false, false},
	} {
		if swapped(c.reference, c.voice, false) || swapped(c.reference, c.voice, true) {
			t.Errorf("%s: called swapped the right way round", c.name)
		}
		if got := swapped(c.voice, c.reference, false); got != c.tells {
			t.Errorf("%s: the wrong way round, swapped is %v", c.name, got)
		}
		if got := swapped(c.voice, c.reference, true); got != c.loose {
			t.Errorf("%s: the wrong way round with a loose cable, swapped is %v", c.name, got)
		}
	}
}

// TestScatter tells in which of two trains the scatter lies; half and half where
// both have the same.
func TestScatter(t *testing.T) {
	still, shaky, other := hung(1, 1, 0.5, 200, 0), hung(2, 1.2, 0.5, 200, 0.003), hung(3, 1.2, 0.5, 200, 0.003)
	for _, c := range []struct {
		name          string
		first, second []Hit
		want          float64
	}{{"in the second", still, shaky, 1}, {"in the first", shaky, still, 0}, {"in both", shaky, other, 0.5}} {
		if share, ok := scatter(c.first, c.second); !ok || share < c.want-0.1 || share > c.want+0.1 {
			t.Errorf("%s: %.2f, %v; want %.1f", c.name, share, ok, c.want)
		}
	}
	if _, ok := scatter(still, hung(2, 1.2, 0.5, 200, 0)); ok {
		t.Error("two still trains have a scatter that tells")
	}
}
