package dial

import (
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/internal/i18ntest"
	"lagwright/plotting/sketch"
)

func TestDialIsTold(t *testing.T) {
	test.NewTempApp(t)
	i18ntest.Use(t)
	var texts []string
	for _, target := range []int{0, 5, -5, 48, 50, 96, -120} {
		d := shown(200, 48, 0, target, true)
		words, _ := d.moveWords(sketch.Inks{})
		texts = append(texts, d.AccessibilityLabel(), d.targetWords(), words)
	}
	unknown := shown(200, 0, 3, 0, false)
	words, _ := unknown.moveWords(sketch.Inks{})
	i18ntest.All(t, append(texts, unknown.AccessibilityLabel(), words))
}
