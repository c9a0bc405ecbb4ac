package marked_test

import (
	"testing"

	"lagwright/calib/phrase"
	"lagwright/calib/phrase/marked"
)

func TestBare(t *testing.T) {
	marked.Use(t)
	for text, want := range map[string]string{
		phrase.L("late"): "",
		phrase.F("%s at %.1f BPM", phrase.L("late"), 84.5): "",
		phrase.L("late") + " ± 0,5 · tub drum":             "",
		phrase.L("late") + " ms":                           " ms",
		"late":                                             "late",
	} {
		if got := marked.Bare(text, "tub drum"); got != want {
			t.Errorf("%q: %q is left, want %q", text, got, want)
		}
	}
}
