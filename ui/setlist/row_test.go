package setlist

import (
	"errors"
	"math"
	"testing"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

func TestSongWords(t *testing.T) {
	p := loop.Song{Song: machine.Song{TempoBPM: 72}, Setting: -3, Move: 4, LowBPM: 70.04, HighBPM: 74.36, Chance: 0.987, Why: "Turn −3.",
		Parts: []loop.Residual{{Voice: "drum", LagMS: 1, HalfMS: 0.5}, {Voice: "bar", LagMS: -2.5, HalfMS: 0.4}}}
	if got, want := songWords(p, false), [5]string{"–3", "+4", "70.0 to 74.4", "2.5 ms early ± 0.4", "Not yet"}; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	p.Name = "Weir Reel"
	if got, want := partWords(p), "Weir Reel at –3: drum 1.0 ms late ± 0.5, bar 2.5 ms early ± 0.4."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	inf := math.Inf(1)
	for want, window := range map[string][2]float64{"no tempo": {0, 0}, "any tempo": {0, inf}, "from 60.0": {60, inf}, "up to 60.0": {0, 60}} {
		if got := windowWords(loop.Song{Song: machine.Song{TempoBPM: 60}, LowBPM: window[0], HighBPM: window[1]}); got != want {
			t.Errorf("%v is %q, want %q", window, got, want)
		}
	}
	if p.TempoBPM = 80; windowWords(p) != "not tight at 80 BPM" {
		t.Errorf("at 80 BPM: %q", windowWords(p))
	}
	if got := NextWords(&loop.View{Err: errors.New("there is no plan")}); got != "There is no plan." {
		t.Errorf("%q", got)
	}
}
