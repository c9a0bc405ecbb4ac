package ui

import (
	"context"
	"fmt"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/loop"
	"lagwright/calib/plan"
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
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: bpm, Setting: stands, Seed: uint64(bpm), Rate: quickRate})
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
	if w.session().Setting() != before {
		t.Errorf("setting %+d before anybody agreed, %+d then", before, w.session().Setting())
	}
	if w.loop.found.root.Visible() {
		t.Error("the loop says it a second time above the set list")
	}
}

// dialogIn returns what is to be read on a dialog, and its buttons by their words.
func dialogIn(t *testing.T, w *Window) (said string, buttons map[string]fyne.Tappable) {
	t.Helper()
	top := w.win.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("there is no dialog")
	}
	buttons = map[string]fyne.Tappable{}
	for _, o := range test.LaidOutObjects(top) {
		switch o := o.(type) {
		case *widget.Label:
			said += o.Text + "\n"
		case *widget.Button:
			if o.Visible() {
				buttons[o.Text] = o
			}
		case *button:
			if o.Visible() {
				buttons[o.Text] = o
			}
		}
	}
	return said, buttons
}

// What the builder can do about each finding lies beside it.
func TestWhatTheTakesShow(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	recordTub(t, w, 84, 0, 0)
	w.refresh()
	w.view().Findings = []loop.Finding{
		{Kind: plan.Bad, Take: 1, Odds: "about 9 to 1", Words: "The lag fits nothing else.", Do: "Look.", Yes: "Leave take 1 out"},
		{Kind: plan.FallOther, Voice: "elm block", Odds: "about 3 to 1", Words: "Its fall is another.", Do: "Look.", Reach: true},
		{Kind: plan.PlateWrong, Odds: "about 2 to 1", Words: "The plate is another.", Do: "Count."},
	}
	w.refresh()
	if f := w.songs.found; f.likely.text != "Looks wrong (about 9 to 1): The lag fits nothing else. Look." {
		t.Errorf("says %q", f.likely.text)
	}
	test.Tap(w.songs.found.all)
	said, buttons := dialogIn(t, w)
	if !strings.Contains(said, "Nothing is changed until you agree") || !strings.Contains(said, "(elm block, about 3 to 1): Its fall is another. Look. Stop the crank") || len(buttons) != 3 {
		t.Errorf("lists %q with %d buttons", said, len(buttons))
	}
	test.Tap(buttons["Leave take 1 out"])
	if !w.session().Takes[0].LeftOut || !strings.Contains(w.notice.text.Text, "Take 1 is left out. Undo") || w.win.Canvas().Overlays().Top() != nil {
		t.Errorf("agreed, the take is left out: %v, says %q", w.session().Takes[0].LeftOut, w.notice.text.Text)
	}
	w.undo()
	if w.session().Takes[0].LeftOut {
		t.Error("undone, the take is still left out")
	}
	w.view().Findings = []loop.Finding{{Kind: plan.FallOther, Odds: "about 2 to 1", Words: "Its fall is another.", Do: "Look."}}
	w.refresh()
	if w.songs.found.yes.Visible() {
		t.Errorf("what is done at the machine alone is answered by %q", w.songs.found.yes.Text)
	}
	w.view().Findings = []loop.Finding{{Kind: plan.PlateWrong, Odds: "about 2 to 1", Words: "The plate is another.", Do: "Count."}}
	w.refresh()
	test.Tap(w.songs.found.yes)
	if _, buttons = dialogIn(t, w); w.songs.found.yes.Text != "The machine…" || buttons["Keep"] == nil {
		t.Errorf("the machine is not asked for: %v", buttons)
	}
}

// Without a set list a mistake is said below the loop, with what to agree to; agreed
// with, the move is corrected and nothing is found any more; Undo takes it back.
func TestLoopSaysWhatTheTakesShow(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	recordTub(t, w, 84, 0, 10)
	recordTub(t, w, 120, 10, 6)
	recordTub(t, w, 96, 15, 2)
	recordTub(t, w, 72, 17, 0)
	w.refresh()
	before := w.session()
	line := w.loop.found
	if !line.root.Visible() || !strings.Contains(line.likely.text, "The move before take 3 looks like 5 steps, not 6") {
		t.Fatalf("says %q", line.likely.text)
	}
	test.Tap(line.all)
	if _, buttons := dialogIn(t, w); buttons["It was turned 5 ahead"] == nil || !dismissTop(w.win.Canvas()) {
		t.Fatalf("offers %v", buttons)
	}
	if line.yes.Text != "It was turned 5 ahead" {
		t.Errorf("beside it stands %q", line.yes.Text)
	}
	test.Tap(line.yes)
	s := w.session()
	if got := s.Takes[1].Moved; got.Steps != 5 || got.NoteWords() != "first told as 6 ahead" || s.SettingAt(2) != 15 || s.Setting() != 17 {
		t.Errorf("told %+v, take 3 at %+d, the plate at %+d", got, s.SettingAt(2), s.Setting())
	}
	if line.root.Visible() || !strings.Contains(w.notice.text.Text, "Undo") {
		t.Errorf("still found %q; says %q", line.likely.text, w.notice.text.Text)
	}
	command(t, w, "Undo").Action()
	if !reflect.DeepEqual(w.session(), before) || !line.root.Visible() {
		t.Error("undone, the session is not as it was")
	}
	if command(t, w, "What the takes show…").Disabled {
		t.Error("undone, the menu does not offer what the takes show")
	}
	command(t, w, "Redo").Action()
	if w.session().Setting() != 17 || line.root.Visible() {
		t.Error("it was not made again")
	}
}

// A move that was made as asked for and never told is one press away.
func TestMoveThatWasNotTold(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	recordTub(t, w, 84, 0, 0)
	asked := w.view().Steps
	recordTub(t, w, 84, asked, 0)
	w.refresh()
	line := w.loop.found
	if !line.root.Visible() || line.yes.Text != fmt.Sprintf("It was turned %d ahead", asked) {
		t.Fatalf("says %q, offers %q", line.likely.text, line.yes.Text)
	}
	test.Tap(line.yes)
	if v := w.view(); v.Setting != asked || v.Stage != loop.Tight || line.root.Visible() || !strings.Contains(w.notice.text.Text, "before take 2 is corrected") {
		t.Errorf("the plate stands at %d: %s; says %q", v.Setting, v.Do, w.notice.text.Text)
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
	c, said := w.songs.cure, w.songs.cure.words
	for _, want := range []string{"tub drum, ", " late against the elm block: raise the voice by ", " mm", "° ahead", "at every tempo", "Not known: the drop height", "Enter it under The machine"} {
		if !strings.Contains(said, want) {
			t.Errorf("the cure does not say %q: %q", want, said)
		}
	}
	if !c.root.Visible() {
		t.Fatal("the song does not offer to say it")
	}
	test.Tap(c.root)
	shown := w.win.Canvas().Overlays().Top()
	for _, want := range []string{"against the elm block", "Stop the crank and wait until everything is at rest", "Local codes"} {
		if shown == nil || !strings.Contains(textIn(shown), want) {
			t.Errorf("the dialog does not say %q", want)
		}
	}
	w.win.Canvas().Overlays().Remove(shown)
	w.songs.focus(1, nameColumn)
	if c.root.Visible() {
		t.Errorf("a song that a setting suits says %q", c.words)
	}
}

// textIn gathers what is written in an object and all within it.
func textIn(o fyne.CanvasObject) string {
	var all []string
	for _, one := range test.LaidOutObjects(o) {
		switch one := one.(type) {
		case *widget.Label:
			all = append(all, one.Text)
		case *sign:
			all = append(all, one.text)
		case *button:
			all = append(all, one.Text)
		}
	}
	return strings.Join(all, "\n")
}
