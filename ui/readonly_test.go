package ui

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib/bench"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// A machine that another window has open is shown, with the reason why it can only
// be read; a change says so again and changes nothing.
func TestSecondWindowShowsAndRefuses(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	dir, want := w.desk.Bench.Dir(), w.desk.Machine()
	w.closeMachine()
	other := must.Get(bench.Open(dir))(t)
	defer other.Close()
	w.Open(dir)
	told := func(when string) {
		t.Helper()
		if said := w.desk.Notice.Text.Text; !strings.Contains(said, "can only be read") || !strings.Contains(said, "open in another Lagwright window; close it there first") {
			t.Errorf("%s it says %q", when, said)
		}
		w.desk.Notice.Clear()
	}
	told("opened")
	if w.desk.Bench == nil || !reflect.DeepEqual(w.desk.Machine(), want) || w.take.Showing != 1 || !strings.Contains(w.desk.Win.Title(), "read only") {
		t.Fatalf("it shows take %d, title %q", w.take.Showing, w.desk.Win.Title())
	}
	w.desk.Notice.Clear()
	if mark := w.loop.Where.Text; !strings.HasPrefix(mark, "Read only  ·  ") {
		t.Errorf("the notice dismissed, the loop says %q", mark)
	}
	test.Tap(w.loop.Turned)
	told("after turning")
	w.welcome.Reword(dir, "", func(b *bench.Bench) error { return b.Rename("other") })
	told("after renaming")
	for _, label := range []string{"Use the other sound", "Strike out hit", "Add hit", "Leave this take out"} {
		command(t, w, label).Action()
		if strings.Contains(w.desk.Notice.Text.Text, "is now read") {
			t.Errorf("%s claims a change: %q", label, w.desk.Notice.Text.Text)
		}
		told("after " + label)
	}
	path := filepath.Join(t.TempDir(), "sent.zip")
	if w.welcome.ExportZip(dir, path); !strings.Contains(w.desk.Notice.Text.Text, "Exported to "+path) {
		t.Errorf("exporting says %q", w.desk.Notice.Text.Text)
	}
	if m, err := machine.Load(dir); err != nil || !reflect.DeepEqual(m, want) || !reflect.DeepEqual(w.desk.Machine(), want) {
		t.Errorf("it changed (%v)", err)
	}
	other.Close()
	w.closeMachine()
	w.Open(dir)
	if said := w.desk.Notice.Text.Text; said != "" || strings.Contains(w.desk.Win.Title(), "read only") || strings.HasPrefix(w.loop.Where.Text, "Read only") {
		t.Errorf("closed in the other window: %q, title %q", said, w.desk.Win.Title())
	}
}
