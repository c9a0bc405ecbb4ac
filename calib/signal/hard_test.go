package signal

import (
	"context"
	"math"
	"testing"

	"lagwright/calib"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

// Takes that were once read wrongly without a word: each is read within 1 ms, or
// refused.
func TestHardTakes(t *testing.T) {
	t.Parallel()
	type hard struct {
		trap string
		seed uint64
	}
	for _, c := range deeptest.Some(5, []hard{
		{"clunk", 1008}, {"clunk", 2004}, {"clunk", 5002}, {"soft", 1010}, {"ringing", 1004}, {"ringing", 1010},
		{"gears", 2001}, {"drop-out", 2011}, {"hum-burst", 5006},
	}) {
		recording, truth, perBeat := trapTake(t, c.trap, c.seed, 0)
		r := must.Get(Measure(context.Background(), recording, Options{PerBeat: perBeat}))(t)
		off := r.LagMS - truth.Heard().MeanLagMS
		off -= r.ReferencePeriodMS * math.Round(off/r.ReferencePeriodMS)
		if refused := r.Used() < calib.MinPairs || r.Has(calib.WarnDoubtful, calib.WarnRival); math.Abs(off) > 1 && !refused {
			t.Errorf("%s, seed %d: off by %.2f ms with warnings %v", c.trap, c.seed, off, r.Warnings)
		}
	}
}
