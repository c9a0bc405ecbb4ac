package ui

import (
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"

	"lagwright/ui/kit"
)

// Enter takes the folder that is open; where the arrows went to one in it, enter
// goes into that first.
func TestFoldersByKeyboard(t *testing.T) {
	w := testWindow(t)
	dir := t.TempDir()
	for _, sub := range []string{"a/b/x", "a/b/y", "a/c"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		name string
		keys []fyne.KeyName
		want string // where it is chosen at last
	}{
		{"at once", []fyne.KeyName{fyne.KeyReturn}, "a"},
		{"into a folder by enter", []fyne.KeyName{fyne.KeyRight, fyne.KeyReturn, fyne.KeyReturn}, "a/b"},
		{"into a folder by space", []fyne.KeyName{fyne.KeyRight, fyne.KeySpace, fyne.KeyReturn}, "a/b"},
		{"into the second", []fyne.KeyName{fyne.KeyRight, fyne.KeyRight, fyne.KeyReturn, fyne.KeyReturn}, "a/c"},
		{"up to the parent", []fyne.KeyName{fyne.KeyRight, fyne.KeyLeft, fyne.KeyReturn, fyne.KeyReturn}, "."},
	} {
		into := kit.NewField(filepath.Join(dir, "a"))
		w.desk.ChooseFolder(into.Text, into.SetText)
		for _, k := range c.keys {
			if w.desk.Win.Canvas().Overlays().Top() == nil {
				t.Fatalf("%s: chosen before %s", c.name, k)
			}
			w.typed(&fyne.KeyEvent{Name: k})
		}
		if got := filepath.Clean(into.Text); got != filepath.Join(dir, c.want) || w.desk.Win.Canvas().Overlays().Top() != nil {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
		for kit.DismissTop(w.desk.Win.Canvas()) {
		}
	}
}
