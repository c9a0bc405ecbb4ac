package ui

import (
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/internal/must"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
)

// opened has the window note what it would have other programs open.
func opened(w *Window, err error) *[]string {
	var paths []string
	w.desk.OpenFile = func(u *url.URL) error {
		paths = append(paths, u.Path)
		return err
	}
	return &paths
}

// Where there is lp, the card and the report go to it as PDF, on the paper that was
// chosen; where there is none, or it has no printer, the PDF is opened and it says why.
func TestPrint(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	bin := t.TempDir()
	t.Setenv("PATH", bin)
	paths := opened(w, nil)
	lp := func(script string) {
		must.Do(t, os.WriteFile(filepath.Join(bin, "lp"), []byte("#!/bin/sh\n"+script), 0o700))
	}
	command(t, w, "Print the card").Action()
	if said := w.desk.Notice.Text.Text; !strings.Contains(said, "no program lp") || len(*paths) != 1 || filepath.Ext((*paths)[0]) != ".pdf" {
		t.Errorf("without lp it opens %q and says %q", *paths, said)
	}
	lp("echo no default destination >&2; exit 1")
	command(t, w, "Print the report").Action()
	if said := w.desk.Notice.Text.Text; !strings.Contains(said, "no default destination") || len(*paths) != 2 {
		t.Errorf("without a printer it opens %q and says %q", *paths, said)
	}
	lp("echo \"$@\" > " + filepath.Join(bin, "asked") + "; for last; do read line < \"$last\"; done; echo \"$line\" >> " + filepath.Join(bin, "asked"))
	command(t, w, "Print the card").Action()
	asked, err := os.ReadFile(filepath.Join(bin, "asked"))
	if said := w.desk.Notice.Text.Text; err != nil || !strings.Contains(string(asked), "media=A5") || !strings.Contains(string(asked), "%PDF-") || len(*paths) != 2 || !strings.Contains(said, "Sent the card to the printer.") {
		t.Errorf("lp got %q (%v), the window says %q", asked, err, said)
	}
}

// What was saved can be opened, and its folder shown; where nothing opens it, that is said.
func TestSavedIsOpened(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	paths, path := opened(w, nil), filepath.Join(t.TempDir(), "card.pdf")
	w.export.Write(path, w.export.Card())
	press := func(label string) {
		for _, o := range w.desk.Notice.Acts.Objects {
			if b := o.(*kit.Button); b.Text == label {
				test.Tap(b)
			}
		}
	}
	press("Open")
	press("Show in folder")
	if len(*paths) != 2 || (*paths)[0] != path || (*paths)[1] != filepath.Dir(path) {
		t.Errorf("opens %q", *paths)
	}
	opened(w, errors.New("no xdg-open"))
	press("Open")
	if said := w.desk.Notice.Text.Text; !strings.Contains(said, "no xdg-open") || !strings.Contains(said, path) {
		t.Errorf("says %q", said)
	}
}

// The newest few sentences are shown in room of their own, below all else; news go once they
// were read, errors stay.
func TestNewsHideNothing(t *testing.T) {
	w := testWindow(t)
	var read func()
	w.desk.Notice.Later = func(f func()) { read = f }
	w.Practice()
	for _, words := range []string{"one", "two", "three", "four", "two"} {
		w.desk.Notice.Say(words, words == "one")
	}
	if got := w.desk.Notice.Text.Text; got != "Three.\nFour.\nTwo." {
		t.Errorf("it says %q", got)
	}
	w.desk.Win.Content().Refresh() // the toolkit's window would
	where := fyne.CurrentApp().Driver().AbsolutePositionForObject
	if top, lists := where(w.desk.Notice.Card).Y, where(w.history.Root).Y+w.history.Root.Size().Height; !w.desk.Notice.Card.Visible() || top < lists || w.desk.Notice.Card.Size().Height < 30 {
		t.Errorf("the lists end at %g, news begin at %g and are %g high", lists, top, w.desk.Notice.Card.Size().Height)
	}
	read()
	if w.desk.Notice.Card.Visible() {
		t.Error("news stay though they were read")
	}
	w.desk.Notice.Say("an error", true)
	w.desk.Notice.Say("news", false)
	if read(); w.desk.Notice.Text.Text != "An error." {
		t.Error("an error goes by itself")
	}
	w.typed(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if w.desk.Notice.Card.Visible() {
		t.Error("escape does not dismiss them")
	}
}

// The guide click is asked for beside the button that records.
func TestClickBesideRecord(t *testing.T) {
	w := ownMachine(t)
	if !w.loop.PlayTake.Visible() || !w.loop.Click.Visible() || w.loop.Click.Checked {
		t.Fatalf("shown beside Record: %v, on: %v", w.loop.Click.Visible(), w.loop.Click.Checked)
	}
	test.Tap(w.loop.Click)
	if !w.desk.Prefs.Bool(prefs.KeyClick) {
		t.Error("the guide click is off")
	}
	w.desk.Prefs.SetBool(prefs.KeyClick, false)
	w.refresh()
	if w.loop.Click.Checked {
		t.Error("the tick does not follow")
	}
}
