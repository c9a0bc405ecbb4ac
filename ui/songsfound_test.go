package ui

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	wav "lagwright/calib/take"
)

// recordTub opens a recording of the tub drum with the plate where it really
// stands, and tells of a move after it.
func recordTub(t *testing.T, w *Window, bpm float64, stands, told int) {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(w.bench.Aim(session.Target{TempoBPM: bpm, Voice: "tub drum"}))
	path := filepath.Join(t.TempDir(), "crank.wav")
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: bpm, Setting: stands, Seed: uint64(bpm)})
	must(wav.Write(context.Background(), path, recording, nil))
	_, err := w.bench.Add(context.Background(), path, w.bench.Channels(2), nil)
	must(err)
	if told != 0 {
		must(w.bench.Moved(told, ""))
	}
}

// A step that was miscounted is said above the next take, and nothing is changed.
func TestSetListSaysAMiscount(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	if w.songs.found.root.Visible() {
		t.Error("something is found before any take")
	}
	recordTub(t, w, 84, 0, 10)
	recordTub(t, w, 120, 10, 6)
	recordTub(t, w, 96, 15, 2)
	recordTub(t, w, 72, 17, 0)
	before := w.session().Setting()
	w.refresh()
	got := w.songs.found.likely.text
	if !w.songs.found.root.Visible() || !strings.Contains(got, "looks like 5 steps, not 6") || !strings.Contains(got, " to 1") || !strings.Contains(got, "Count the notches") {
		t.Errorf("says %q", got)
	}
	if line := w.songs.found.likely.Size(); line.Height < w.songs.found.likely.MinSize().Height || line.Width < 300 {
		t.Errorf("what came in sight has only the room %v", line)
	}
	if w.songs.found.all.Visible() || w.session().Setting() != before {
		t.Errorf("one finding: all offered %v, setting %+d", w.songs.found.all.Visible(), w.session().Setting())
	}
}

func TestSetListSaysAllFindings(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	w.songs.found.show([]bench.Finding{
		{Odds: "about 9 to 1", Words: "The move went wrong.", Do: "Count."},
		{Voice: "elm block", Odds: "about 3 to 1", Words: "It fits nothing else.", Do: "Look.", Reach: true},
	})
	if f := w.songs.found; f.likely.text != "Looks wrong (about 9 to 1): The move went wrong. Count." || f.all.Text != "All 2…" || !f.all.Visible() {
		t.Errorf("says %q, offers %q", f.likely.text, f.all.Text)
	}
	test.Tap(w.songs.found.all)
	top := w.win.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("the button opens nothing")
	}
	said := ""
	for _, o := range test.LaidOutObjects(top) {
		if l, ok := o.(*widget.Label); ok {
			said += l.Text
		}
	}
	if !strings.Contains(said, "Nothing is changed") || !strings.Contains(said, "(elm block, about 3 to 1): It fits nothing else. Look. Stop the crank") {
		t.Errorf("lists %q", said)
	}
}

// A song that no setting suits says what to change, with the caution beside it;
// another does not.
func TestSetListSaysTheCure(t *testing.T) {
	w := listed(t, session.Song{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}}, song("Weir Reel", 132))
	for _, target := range []session.Target{{TempoBPM: 84, Voice: "tub drum"}, {TempoBPM: 84, Voice: "elm block"}, {TempoBPM: 132, Voice: "tub drum"}, {TempoBPM: 132, Voice: "elm block"}} {
		w.aim(target)
		if _, err := w.bench.Play(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
	}
	w.refresh()
	w.win.Resize(fyne.NewSize(1180, 800))
	w.songs.focus(0, nameColumn)
	c, said := w.songs.cure, w.songs.cure.text.Text
	for _, want := range []string{"tub drum, ", " late against the elm block: raise the voice by ", " mm", "° ahead", "at every tempo", "not known"} {
		if !strings.Contains(said, want) {
			t.Errorf("the cure does not say %q: %q", want, said)
		}
	}
	if !c.root.Visible() || !strings.Contains(c.caution.text, "Stop the crank and wait until everything is at rest") || !strings.Contains(c.caution.text, "Local codes") {
		t.Errorf("the caution says %q", c.caution.text)
	}
	w.songs.focus(1, nameColumn)
	if c.root.Visible() {
		t.Errorf("a song that a setting suits says %q", c.text.Text)
	}
}
