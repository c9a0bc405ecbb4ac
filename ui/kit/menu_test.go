package kit

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
)

// Enter presses the button that has the keyboard, as the space bar does.
func TestEnterPresses(t *testing.T) {
	test.NewTempApp(t)
	pressed := 0
	b := NewButton("Keep", func() { pressed++ })
	for _, key := range []fyne.KeyName{fyne.KeyReturn, fyne.KeyEnter, fyne.KeySpace, fyne.KeyA} {
		b.TypedKey(&fyne.KeyEvent{Name: key})
	}
	if b.Disable(); pressed != 3 {
		t.Errorf("pressed %d times", pressed)
	}
	if b.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn}); pressed != 3 {
		t.Error("one that cannot be pressed was")
	}
}

// Keys stand below each other as part of the commands' words, and do what they did.
func TestMenuWritesItsKeys(t *testing.T) {
	test.NewTempApp(t)
	m := fyne.NewMainMenu(fyne.NewMenu("one", Entry("Open a recording…", Ctrl(fyne.KeyO), true, nil), Entry("Stop", CtrlShift(fyne.KeyR), true, nil), Entry("Hints", nil, true, nil)))
	items := WithKeys(m).Items[0].Items
	var at []float64
	for i, keys := range []string{"Ctrl+O", "Ctrl+Shift+R", ""} {
		words := strings.TrimSuffix(items[i].Label, keys)
		if keys == "" {
			if items[i].Label != "Hints" {
				t.Errorf("without a key: %q", items[i].Label)
			}
			continue
		}
		if words == items[i].Label {
			t.Errorf("%q does not end with %s", items[i].Label, keys)
		}
		if _, drawn := items[i].Shortcut.(fyne.KeyboardShortcut); drawn {
			t.Errorf("%s is written by the toolkit too", keys)
		}
		at = append(at, float64(fyne.MeasureText(words, theme.TextSize(), fyne.TextStyle{}).Width))
	}
	if math.Abs(at[0]-at[1]) > 3 {
		t.Errorf("the keys begin at %g and %g", at[0], at[1])
	}
	if got := items[0].Shortcut.ShortcutName(); got != Ctrl(fyne.KeyO).ShortcutName() {
		t.Errorf("the shortcut is %q", got)
	}
}
