package plan

import (
	"math"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// A change of one standard deviation of a hit, which a one-sided test at 5 % is to miss in 10 %
// of the cases, needs (1.645 + 1.282)² = 8.57 hits, so 9 (NIST/SEMATECH e-Handbook of Statistical
// Methods, 7.2.2.2, from memory). What is known of the law, and what takes differ by, asks for more.
func TestHitsThatShowAChange(t *testing.T) {
	const hit, hits = 20.0, 30 // ms
	k := Knowledge{Voices: 1, Prior: calib.Prior{Delay: calib.Belief{SD: 300}, Offset: calib.Belief{SD: 0.3}, Step: calib.Belief{Mean: 1.0 / 60}}}
	heard := Observation{PeriodMS: 600, LagMS: 100, ScatterMS: hit / math.Sqrt(hits), Hits: hits, OtherMS: calib.TakeToTakeMS}
	var takes []Take
	for i := range 400 {
		takes = append(takes, Take{ID: i + 1, Heard: []Observation{heard}})
	}
	m := must.Get(Fit(k, takes))(t)
	sd := hit / (1.645 + 1.282)
	n := m.HitsFor(0, Place{}, 600, sd)
	if n != 9 {
		t.Errorf("%g hits, want 9", n)
	}
	if few, many := m.HitsFor(0, Place{}, 600, 0.3), m.HitsFor(0, Place{}, 600, 100); !math.IsInf(few, 1) || many != 1 {
		t.Errorf("%g hits for what no take tells, %g for what any does", few, many)
	}
	for _, late := range []float64{0, 7, -45} {
		heard.LagMS, heard.Hits, heard.ScatterMS, heard.WrapMS = 100+late+600, int(n), hit/math.Sqrt(n), 600
		by, u := m.Residual(heard, Place{})
		if math.Abs(by-late) > 0.1 || u > 1.05*sd || u < 0.9*sd {
			t.Errorf("a take %g ms late is %.2f ms late, give or take %.2f, want %.2f", late, by, u, sd)
		}
	}
}
