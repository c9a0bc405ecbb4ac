package ui

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"
)

// savedPicture returns the SVG of the take in sight as saved.
func savedPicture(t *testing.T, w *Window) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "take.svg")
	w.export.Write(path, w.export.Picture())
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err, w.desk.Notice.Text.Text)
	}
	return string(data)
}

// The picture shows the take in sight, whole, and what the trace shows of it
// when that is less.
func TestSaveTakePicture(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	if !command(t, w, "Save take picture…").Disabled {
		t.Error("a picture is offered before there is a take")
	}
	test.Tap(w.loop.PlayTake)
	if command(t, w, "Save take picture…").Disabled {
		t.Error("no picture is offered of a take")
	}
	whole := savedPicture(t, w)
	w.take.Trace.ShowPair(3)
	near := savedPicture(t, w)
	for _, svg := range []string{whole, near} {
		if !strings.Contains(svg, "Take 1 · tub drum at ") || !strings.Contains(svg, "voice hits used") {
			t.Error("the picture does not say which take it shows")
		}
	}
	if a, b := strings.Count(whole, "<path"), strings.Count(near, "<path"); b <= a {
		t.Errorf("zoomed in the picture has %d shapes, whole %d: the near stretch is missing", b, a)
	}
	w.put(nil)
	if _, err := w.export.Picture()(); err == nil {
		t.Error("a picture without a take")
	}
}
