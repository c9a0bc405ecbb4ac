package rail

import (
	"math"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/internal/i18ntest"
	"lagwright/ui/look"
)

func TestRailIsTold(t *testing.T) {
	test.NewTempApp(t)
	i18ntest.Use(t)
	r := New("Reference", look.Reference, -40, -3)
	r.Set(Level{NowDBFS: -10, HeldDBFS: -10, Word: "good"})
	loud := r.AccessibilityLabel()
	r.Set(Level{NowDBFS: math.Inf(-1), HeldDBFS: math.Inf(-1), Word: "no sound"})
	i18ntest.All(t, []string{loud, r.AccessibilityLabel()}, "Reference", "no sound", "good")
}
