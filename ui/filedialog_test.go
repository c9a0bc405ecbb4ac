package ui

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/internal/must"
	chooser "lagwright/ui/choose"
	"lagwright/ui/kit"
)

// A file or a folder is chosen by keyboard from the list, or by its path, typed.
func TestChoosing(t *testing.T) {
	w := testWindow(t)
	dir := t.TempDir()
	for _, name := range []string{"a/b/take.WAV", "a/c/", "a/take.wav", "a/.hidden.wav", "a/notes.txt"} {
		path := filepath.Join(dir, name)
		must.Do(t, os.MkdirAll(filepath.Dir(path+"x"), 0o755))
		if name[len(name)-1] != '/' {
			must.Do(t, os.WriteFile(path, nil, 0o644))
		}
	}
	down, enter := fyne.KeyDown, fyne.KeyReturn
	for _, c := range []struct {
		name   string
		folder bool
		keys   []fyne.KeyName // in the list
		typed  string         // then, below the first folder, with enter
		want   string         // what is chosen; empty = nothing yet
	}{
		{"the folder that is open", true, nil, "a", "a"},
		{"into one below", true, []fyne.KeyName{down, enter}, "a/b", "a/b"},
		{"up again", true, []fyne.KeyName{enter}, ".", "."},
		{"a folder that is not there", true, nil, "a/d", ""},
		{"a file by itself", false, []fyne.KeyName{down, down, down, enter, enter}, "", "a/take.wav"},
		{"a file of a folder below", false, []fyne.KeyName{down, enter, enter}, "", ""},
		{"a file by its path", false, nil, "a/b/take.WAV", "a/b/take.WAV"},
		{"a folder is no file", false, nil, "a/b", ""},
		{"a file that nobody asks for, by its path", false, nil, "a/notes.txt", "a/notes.txt"},
	} {
		chosen := ""
		take := func(path string) { chosen = path }
		var d *chooser.Chooser
		if at := filepath.Join(dir, "a"); c.folder {
			d = chooser.Folder(w.desk.Frame, at, take)
		} else {
			d = chooser.File(w.desk.Frame, at, []string{".wav"}, take)
		}
		for _, k := range c.keys {
			d.List.TypedKey(&fyne.KeyEvent{Name: k})
		}
		if c.typed != "" {
			d.Path.SetText(filepath.Join(dir, c.typed))
			d.Path.TypedKey(&fyne.KeyEvent{Name: enter})
		}
		want := ""
		if c.want != "" {
			want = filepath.Join(dir, c.want)
		}
		if open := w.desk.Win.Canvas().Overlays().Top() != nil; chosen != want || open != (want == "") {
			t.Errorf("%s: chose %q, want %q; still open: %v", c.name, chosen, want, open)
		}
		if kit.DismissTop(w.desk.Win.Canvas()); w.desk.Win.Canvas().Overlays().Top() != nil {
			t.Fatalf("%s: escape does not take it away", c.name)
		}
	}
	d := chooser.File(w.desk.Frame, filepath.Join(dir, "gone"), []string{".wav"}, func(string) {})
	if d.Path.Text == "" || slices.Contains([]string{".", "/"}, d.Path.Text) || !d.Open.Disabled() {
		t.Errorf("where nothing is, it begins at %q", d.Path.Text)
	}
	for typed, want := range map[string]string{"b": filepath.Join(d.Path.Text, "b"), "/": "/"} { // in the list: below the folder, or from the root
		w.desk.Focus(d.List)
		test.Type(w.desk.Win.Canvas().Focused(), typed)
		if d.Path.Text != want || w.desk.Win.Canvas().Focused() != fyne.Focusable(d.Path) {
			t.Errorf("%q typed in the list makes the path %q, want %q", typed, d.Path.Text, want)
		}
		d.Path.SetText(filepath.Dir(want))
	}
	cancelled, buttons := dialogIn(t, w)
	if test.Tap(buttons["Cancel"]); w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Errorf("%s stays after Cancel", cancelled)
	}
}
