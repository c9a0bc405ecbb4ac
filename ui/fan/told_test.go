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
	texts := []string{fresh.AccessibilityLabel(), shown(400, 300, calib.Reading{}, 5).AccessibilityLabel()}
	for _, lag := range []float64{60, -60, 2} {
		texts = append(texts, shown(400, 300, reading(20, lag, 3), 5).AccessibilityLabel())
	}
	fresh.Set(sweep(), 5, 80)
	i18ntest.All(t, append(texts, fresh.AccessibilityLabel()))
}
