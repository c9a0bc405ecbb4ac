package rail

import (
	"math"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib/phrase/marked"
	"lagwright/ui/look"
)

func TestRailIsTold(t *testing.T) {
	test.NewTempApp(t)
	marked.Use(t)
	r := New("Reference", look.Reference, -40, -3)
	r.Set(Level{NowDBFS: -10, HeldDBFS: -10, Word: "good"})
	loud := r.AccessibilityLabel()
	r.Set(Level{NowDBFS: math.Inf(-1), HeldDBFS: math.Inf(-1), Word: "no sound"})
	marked.All(t, []string{loud, r.AccessibilityLabel()}, "Reference", "no sound", "good")
}
