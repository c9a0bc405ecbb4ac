package main

import (
	"io"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// What is asked for where the voice is tight ends the demo, and so does what is not tight at
// its end.
func TestDemoGivesUp(t *testing.T) {
	t.Parallel()
	b := must.Get(bench.Open(demoMachine(t)))(t)
	defer b.Close()
	again := func(v *loop.View) (machine.Target, bool) { return v.Machine.Target, false }
	if err := follow(t.Context(), b, io.Discard, again); err == nil || !strings.Contains(err.Error(), "120 BPM") {
		t.Errorf("a take where it is tight: %v", err)
	}
	for tempo, songs := range map[string][]machine.Song{
		"108 BPM": nil,
		"96 BPM":  {{Name: "Heron", TempoBPM: 96, Voices: b.Machine().Build.Voices}}, // of which only one is tuned
	} {
		must.Do(t, b.EditSongs(func([]machine.Song) ([]machine.Song, error) { return songs, nil }))
		var out strings.Builder
		err := demoFigures(b, &out, []float64{72, 96, 108})
		if err == nil || !strings.Contains(err.Error(), tempo) || !strings.Contains(err.Error(), filepath.Base(b.Dir())) || out.Len() > 0 {
			t.Errorf("%v, and it says %q; want it not tight at %s", err, &out, tempo)
		}
	}
}
