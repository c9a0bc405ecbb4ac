package i18ntest_test

import (
	"testing"

	"lagwright/calib/i18n"
	"lagwright/internal/i18ntest"
)

func TestBare(t *testing.T) {
	i18ntest.Use(t)
	for text, want := range map[string]string{
		i18n.L("late"): "",
		i18n.F("%s at %.1f BPM", i18n.L("late"), 84.5): "",
		i18n.L("late") + " ± 0,5 · tub drum":           "",
		i18n.L("late") + " ms":                         " ms",
		"late":                                         "late",
	} {
		if got := i18ntest.Bare(text, "tub drum"); got != want {
			t.Errorf("%q: %q is left, want %q", text, got, want)
		}
	}
}
