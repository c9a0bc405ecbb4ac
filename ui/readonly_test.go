package ui

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib/bench"
	"lagwright/calib/session"
)

// A session that another window has open is shown, with the reason why it can only
// be read; a change says so again and changes nothing.
func TestSecondWindowShowsAndRefuses(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	dir, want := w.desk.Bench.Dir(), w.desk.Session()
	w.closeSession()
	other, err := bench.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	w.OpenSession(dir)
	told := func(when string) {
		t.Helper()
		if said := w.desk.Notice.text.Text; !strings.Contains(said, "can only be read") || !strings.Contains(said, "open in another Lagwright window; close it there first") {
			t.Errorf("%s it says %q", when, said)
		}
		w.desk.Notice.clear()
	}
	told("opened")
	if w.desk.Bench == nil || !reflect.DeepEqual(w.desk.Session(), want) || w.take.showing != 1 || !strings.Contains(w.desk.Win.Title(), "read only") {
		t.Fatalf("it shows take %d, title %q", w.take.showing, w.desk.Win.Title())
	}
	w.desk.Notice.clear()
	if mark := w.loop.where.text; !strings.HasPrefix(mark, "Read only  ·  ") {
		t.Errorf("the notice dismissed, the loop says %q", mark)
	}
	test.Tap(w.loop.turned)
	told("after turning")
	w.welcome.reword(dir, "", func(b *bench.Bench) error { return b.Rename("other") })
	told("after renaming")
	for _, label := range []string{"Read the other sound", "Strike out hit", "Add hit", "Leave this take out"} {
		command(t, w, label).Action()
		if strings.Contains(w.desk.Notice.text.Text, "is now read") {
			t.Errorf("%s claims a change: %q", label, w.desk.Notice.text.Text)
		}
		told("after " + label)
	}
	path := filepath.Join(t.TempDir(), "sent.zip")
	if w.welcome.exportZip(dir, path); !strings.Contains(w.desk.Notice.text.Text, "Exported to "+path) {
		t.Errorf("exporting says %q", w.desk.Notice.text.Text)
	}
	if s, err := session.Load(dir); err != nil || !reflect.DeepEqual(s, want) || !reflect.DeepEqual(w.desk.Session(), want) {
		t.Errorf("it changed (%v)", err)
	}
	other.Close()
	w.closeSession()
	w.OpenSession(dir)
	if said := w.desk.Notice.text.Text; said != "" || strings.Contains(w.desk.Win.Title(), "read only") || strings.HasPrefix(w.loop.where.text, "Read only") {
		t.Errorf("closed in the other window: %q, title %q", said, w.desk.Win.Title())
	}
}
