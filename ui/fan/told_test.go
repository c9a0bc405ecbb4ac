package fan

import (
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/internal/i18ntest"
)

func TestFanIsTold(t *testing.T) {
	test.NewTempApp(t)
	i18ntest.Use(t)
	fresh := New()
	texts := []string{fresh.AccessibilityLabel(), shown(400, 300, calib.Reading{}, 5, 7).AccessibilityLabel()}
	for _, lag := range []float64{60, -60, 2} {
		texts = append(texts, shown(400, 300, reading(20, lag, 3), 5, 7).AccessibilityLabel())
	}
	i18ntest.All(t, texts)
	if got := figure(2.5, 0.5); got != "+2,5" {
		t.Errorf("%q", got)
	}
}
