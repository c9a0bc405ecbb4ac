package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/internal/must"
	"lagwright/ui/prefs"
	"lagwright/ui/setlist"
)

// The titles of the set list have room beside the curve of a window of the usual
// size, in every language.
func TestTitlesOfTheSetListHaveRoom(t *testing.T) {
	testWindow(t) // for its theme
	beside := float32(1280*(1-setlist.BesideShare)) - 2*theme.Padding()
	for _, l := range prefs.Languages {
		must.Do(t, prefs.Speak(l.Tag))
		c := setlist.SongColumns()[0]
		var all float32
		for i, width := range c.Widths(beside) {
			all += width
			need := fyne.MeasureText(c.Titles[i], theme.TextSize(), fyne.TextStyle{Bold: true}).Width + 2*theme.InnerPadding()
			if width < need-0.1 {
				t.Errorf("%s: %q has %.0f of the %.0f it takes", l.Tag, c.Titles[i], width, need)
			}
		}
		if all > beside+1 {
			t.Errorf("%s: the columns are %.0f wide in %.0f", l.Tag, all, beside)
		}
	}
	t.Cleanup(func() { prefs.Speak(prefs.English) })
}
