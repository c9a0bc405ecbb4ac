package history

import (
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

// A take that was played off its tempo says where its lag is brought from.
func TestTakeOffItsTempo(t *testing.T) {
	take := &machine.Take{ID: 2, Target: machine.Target{TempoBPM: 84}}
	p := &Pane{Taken: []loop.Result{{Take: take, Heard: &machine.Heard{Reading: calib.Reading{TempoBPM: 82.1}}, Outcome: loop.Move, LagMS: 12.3, HalfMS: 0.5}}}
	if got := p.TakeRow(0); !strings.Contains(got, "12.3 ms late ± 0.5   played at 82.1 BPM") {
		t.Errorf("off the tempo: %q", got)
	}
	p.Taken[0].Reading.Law = calib.TakeLaw{DelayMS: 200, Cov: [2][2]float64{{1, 0}, {0, 0}}, DOF: 40, FromBPM: 66, ToBPM: 132}
	if got := p.TakeRow(0); !strings.Contains(got, "12.3 ms late ± 0.5   sweep from 66 to 132 BPM") {
		t.Errorf("a sweep: %q", got)
	}
	p.Taken[0].Reading.Law = calib.TakeLaw{}
	p.Taken[0].Reading.TempoBPM = 84.3
	if got := p.TakeRow(0); strings.Contains(got, "played") {
		t.Errorf("near the tempo: %q", got)
	}
}

// A row says where the plate was told to stand where the takes say otherwise, and how a
// move was told first that is told otherwise now.
func TestRowOfACorrectedPlace(t *testing.T) {
	first := 10
	take := &machine.Take{ID: 2, Target: machine.Target{TempoBPM: 84}, Moved: &machine.Move{Steps: 12}}
	p := &Pane{Taken: []loop.Result{{Take: take, Heard: &machine.Heard{}, Setting: 12, Told: 12}}}
	if got := p.TakeRow(0); strings.Contains(got, "told") || !strings.Contains(got, "then 12 ahead") {
		t.Errorf("as told: %q", got)
	}
	if take.Moved.AsTold = true; !strings.Contains(p.TakeRow(0), "then 12 ahead (as entered, you said)") {
		t.Errorf("as the builder said: %q", p.TakeRow(0))
	}
	take.Moved.First, p.Taken[0].Told = &first, 10
	if got := p.TakeRow(0); !strings.Contains(got, "at +12, entered as +10") || !strings.Contains(got, "then 12 ahead (as entered, you said) (first entered as 10 ahead)") {
		t.Errorf("told otherwise: %q", got)
	}
}
