package ui

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/internal/must"
	"lagwright/ui/kit"
)

// What was there stays until somebody has agreed and the new file is whole.
func TestSavingKeepsWhatWasThere(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	old := filepath.Join(w.desk.Bench.Dir(), "curve.png")
	must.Do(t, os.WriteFile(old, []byte("somebody's own"), 0o644))
	holds := func(want bool) {
		t.Helper()
		data, err := os.ReadFile(old)
		if kept := string(data) == "somebody's own"; err != nil || kept != want {
			t.Errorf("kept: %v, want %v; %v", kept, want, err)
		}
	}
	command(t, w, "Save the curve…").Action()
	asked, buttons := dialogIn(t, w)
	holds(true)
	if name := w.desk.Win.Canvas().Focused().(*kit.Field); !strings.Contains(asked, "Save the curve") || strings.Contains(asked, "Save the curve…") || name.SelectedText() != "curve.png" {
		t.Errorf("it asks %q, with %q to type over", asked, name.SelectedText())
	}
	test.Tap(buttons["Save"])
	said, buttons := dialogIn(t, w)
	if !strings.Contains(said, "curve.png exists already") {
		t.Fatalf("it asks %q", said)
	}
	test.Tap(buttons["Cancel"])
	holds(true)
	command(t, w, "Save the curve…").Action()
	_, buttons = dialogIn(t, w)
	test.Tap(buttons["Save"])
	_, buttons = dialogIn(t, w)
	test.Tap(buttons["Replace"])
	holds(false)
	if data, _ := os.ReadFile(old); !strings.HasPrefix(string(data), "\x89PNG") {
		t.Error("what took its place is no PNG")
	}
	command(t, w, "Save the curve…").Action()
	_, buttons = dialogIn(t, w)
	w.desk.Win.Canvas().Focused().(*kit.Field).SetText("mine") // without an ending
	test.Tap(buttons["Save"])
	if _, err := os.Stat(filepath.Join(w.desk.Bench.Dir(), "mine.png")); err != nil {
		t.Error(err)
	}
}
