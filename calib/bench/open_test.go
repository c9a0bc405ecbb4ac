package bench_test

import (
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
)

// What the takes cannot tell apart is said with the take that would: the next one
// where it is at another tempo, or turns a plate whose step is not known; nothing
// once they tell, or of a voice that no take has heard.
func TestNextTakeSaysWhatItTells(t *testing.T) {
	slowFast := []session.Song{{Name: "Mill Waltz", TempoBPM: 66, Voices: []string{"tub drum"}}, {Name: "Weir Reel", TempoBPM: 150, Voices: []string{"tub drum"}}}
	why := func(b *bench.Bench) string {
		ok(t, b.EditSongs(session.ReplaceSongs(slowFast)))
		p, err := b.Plan()
		ok(t, err)
		if p.Next == nil {
			return ""
		}
		return p.Next.Why
	}
	if got := why(open(t, 3, 84)); strings.Contains(got, "tell the delay") || strings.Contains(got, "tells the delay") {
		t.Errorf("before any take: %q", got)
	}
	one := played(t, practice.Default(), truly{"tub drum", 66, 0, 0})
	if got := why(one); !strings.Contains(got, "It also tells the delay of the tub drum from the offset of its pins") {
		t.Errorf("after one tempo: %q", got)
	}
	m := one.Session().Machine
	m.Plate = calib.Plate{}
	ok(t, one.EditMachine(t.Context(), m, 5, m.Voices))
	if got := why(one); !strings.Contains(got, "what a step is worth") {
		t.Errorf("with a plate that is not known: %q", got)
	}
	both := played(t, practice.Default(), truly{"tub drum", 66, 0, 20}, truly{"tub drum", 150, 20, 0}, truly{"tub drum", 66, 20, 0})
	if got := why(both); strings.Contains(got, "from the offset") || strings.Contains(got, "what a step") {
		t.Errorf("after both ends: %q", got)
	}
}
