package tune

import (
	"strings"
	"testing"

	"lagwright/calib/machine"
)

// Once agreed, each move says how to end it ahead.
func TestEndAheadIsSaid(t *testing.T) {
	b := machine.Build{}
	if got := behindWords(b, -4); got != "" {
		t.Errorf("nothing was agreed: %q", got)
	}
	b.Unidirectional = true
	if got := behindWords(b, -4); !strings.Contains(got, "turn 7 back, then 3 ahead") {
		t.Errorf("4 back: %q", got)
	}
	if got := behindWords(b, 4); !strings.Contains(got, "end ahead") {
		t.Errorf("4 ahead: %q", got)
	}
}
