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
	dir, want := w.bench.Dir(), w.session()
	w.closeSession()
	other, err := bench.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	w.OpenSession(dir)
	told := func(when string) {
		t.Helper()
		if said := w.notice.text.Text; !strings.Contains(said, "can only be read") || !strings.Contains(said, "open in another Lagwright window; close it there first") {
			t.Errorf("%s it says %q", when, said)
		}
		w.notice.clear()
	}
	told("opened")
	if w.bench == nil || !reflect.DeepEqual(w.session(), want) || w.showing != 1 || !strings.Contains(w.win.Title(), "read only") {
		t.Fatalf("it shows take %d, title %q", w.showing, w.win.Title())
	}
	w.notice.clear()
	if mark := w.loop.where.text; !strings.HasPrefix(mark, "Read only  ·  ") {
		t.Errorf("the notice dismissed, the loop says %q", mark)
	}
	test.Tap(w.loop.turned)
	told("after turning")
	w.reword(dir, "", func(b *bench.Bench) error { return b.Rename("other") })
	told("after renaming")
	for _, label := range []string{"Read the other sound", "Strike out hit", "Add hit", "Leave this take out"} {
		command(t, w, label).Action()
		if strings.Contains(w.notice.text.Text, "is now read") {
			t.Errorf("%s claims a change: %q", label, w.notice.text.Text)
		}
		told("after " + label)
	}
	path := filepath.Join(t.TempDir(), "sent.zip")
	if w.exportZip(dir, path); !strings.Contains(w.notice.text.Text, "Exported to "+path) {
		t.Errorf("exporting says %q", w.notice.text.Text)
	}
	if s, err := session.Load(dir); err != nil || !reflect.DeepEqual(s, want) || !reflect.DeepEqual(w.session(), want) {
		t.Errorf("it changed (%v)", err)
	}
	other.Close()
	w.closeSession()
	w.OpenSession(dir)
	if said := w.notice.text.Text; said != "" || strings.Contains(w.win.Title(), "read only") || strings.HasPrefix(w.loop.where.text, "Read only") {
		t.Errorf("closed in the other window: %q, title %q", said, w.win.Title())
	}
}
