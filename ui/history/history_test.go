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
	p := &Pane{Taken: []loop.Result{{Take: take, Heard: machine.Heard{Reading: calib.Reading{TempoBPM: 82.1}}, Outcome: loop.Move, LagMS: 12.3, HalfMS: 0.5}}}
	if got := p.TakeRow(0); !strings.Contains(got, "12.3 ms late ± 0.5 (played at 82.1 BPM)") {
		t.Errorf("off the tempo: %q", got)
	}
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
	p := &Pane{Taken: []loop.Result{{Take: take, Setting: 12, Told: 12}}}
	if got := p.TakeRow(0); strings.Contains(got, "told") || !strings.Contains(got, "then 12 ahead") {
		t.Errorf("as told: %q", got)
	}
	take.Moved.First, p.Taken[0].Told = &first, 10
	if got := p.TakeRow(0); !strings.Contains(got, "at +12, entered as +10") || !strings.Contains(got, "then 12 ahead (first entered as 10 ahead)") {
		t.Errorf("told otherwise: %q", got)
	}
}
