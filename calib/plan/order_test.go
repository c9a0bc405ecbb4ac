package plan

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
)

// The evidence that a reading is a bad one is the same in whichever order the takes come: it
// is the density of all readings together.
func TestOrderOfTakesIsNoEvidence(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		k := Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{NotchesPerTurn: 72, TurnsPerBeat: 1})}
		k.Prior.Elsewhere = 0
		bad := rapid.IntRange(0, 4).Draw(t, "bad")
		var takes []Take
		for i := range 5 {
			h := Observation{PeriodMS: rapid.Float64Range(400, 800).Draw(t, "period"), OtherMS: 0.5, Slope: rapid.Float64Range(-0.01, 0.01).Draw(t, "slope"), SlopeSD: 0.01}
			h.LagMS = 200 + rapid.Float64Range(-1, 1).Draw(t, "lag")
			if i == bad {
				h.LagMS += rapid.Float64Range(30, 80).Draw(t, "off")
			}
			takes = append(takes, Take{ID: i, Heard: []Observation{h}})
		}
		evidence := func(takes []Take) float64 {
			s := search{known: k, takes: takes, pools: pool(takes, 1)}
			s.run()
			for _, h := range s.live {
				if f := h.faults; h.model.scatter == 0 && h.model.fault == Fine && f != nil && f.before == nil && f.kind == Bad && takes[f.take].ID == bad {
					paid := len(takes) - 2 // a take before which the plate could have been turned, and by which it was not
					if f.take == 0 {
						paid++
					}
					return h.log - float64(paid)*outcomes(nil, 0, 0, false, 1, 1, 1)[asTold].log
				}
			}
			t.Skip("not followed")
			return 0
		}
		was := evidence(takes)
		order := rapid.Permutation(takes).Draw(t, "order")
		if now := evidence(slices.Clone(order)); math.Abs(now-was) > 1e-6 {
			t.Fatalf("the log of the evidence is %g, and %g in another order", was, now)
		}
	})
}
