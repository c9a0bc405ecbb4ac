package signal

import (
	"math/rand/v2"
	"testing"
)

// doubled puts a second hit after each, by a gap in s and louder by dB.
func doubled(hits []Hit, gap func() float64, dB float64) []Hit {
	var all []Hit
	for _, h := range hits {
		all = append(all, h, Hit{TimeS: h.TimeS + gap(), Level: h.Level + dB})
	}
	return all
}

func TestOnsetsDropSwells(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	strikes := evenly(1, 0.7, 10)
	steady := func() float64 { return 0.025 + 0.004*r.Float64() }
	reference := evenly(1.2, 0.7, 10)
	for _, c := range []struct {
		name  string
		hits  []Hit
		other []Hit
		want  int
	}{
		{"each swells", doubled(strikes, steady, 3), reference, 10},
		{"each is followed by a much louder one", doubled(strikes, steady, 15), reference, 20},
		{"the earlier are the other channel's leaks", doubled(strikes, steady, 3), strikes, 20},
		{"two of ten have a knock before", append(doubled(strikes[:2], steady, 3), strikes[2:]...), reference, 12},
		{"at any distance", doubled(strikes, func() float64 { return 0.002 + 0.042*r.Float64() }, 3), reference, 20},
		{"a fall time before: the gate", doubled(strikes, func() float64 { return 0.1 }, 3), reference, 20},
		{"nothing", nil, reference, 0},
	} {
		got := onsets(c.hits, c.other)
		if len(got) != c.want {
			t.Errorf("%s: %d hits, want %d", c.name, len(got), c.want)
		}
		if c.want == 10 && (got[3].TimeS != strikes[3].TimeS || got[3].Level != strikes[3].Level+3) {
			t.Errorf("%s: kept %+v, want the first one's time at the second one's level", c.name, got[3])
		}
	}
}
