package ui

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/calib/machine"
	"lagwright/internal/must"
	"lagwright/ui/kit"
)

// choose opens the menu of a machine in the list and picks a command.
func choose(t *testing.T, w *Window, name, label string) {
	t.Helper()
	test.Tap(rowOf(t, w, name).More)
	menu, ok := w.desk.Win.Canvas().Focused().(*widget.PopUpMenu)
	if !ok {
		t.Fatalf("no menu of %s", name)
	}
	for _, o := range test.LaidOutObjects(w.desk.Win.Canvas().Overlays().Top()) {
		if i, ok := o.(fyne.Tappable); ok && strings.HasSuffix(fmt.Sprintf("%T", o), "menuItem") && says(o, label) {
			i.Tapped(nil)
			return
		}
	}
	menu.Dismiss()
	t.Fatalf("no command %q on %s", label, name)
}

// says reports whether a text lies within an object.
func says(o fyne.CanvasObject, label string) bool {
	for _, in := range test.LaidOutObjects(o) {
		if v := reflect.Indirect(reflect.ValueOf(in)).FieldByName("Text"); v.IsValid() && v.Kind() == reflect.String && v.String() == label {
			return true
		}
	}
	return false
}

// typeInto fills the first entry of the dialog in sight and confirms.
func typeInto(t *testing.T, w *Window, words, confirm string) {
	t.Helper()
	e, ok := w.desk.Win.Canvas().Focused().(*kit.Field)
	if !ok {
		t.Fatalf("the keyboard is on %T", w.desk.Win.Canvas().Focused())
	}
	e.SetText(words)
	_, buttons := dialogIn(t, w)
	test.Tap(buttons[confirm])
}

// Rename and notes work on the open machine, where Undo takes them back, and on one of
// the list.
func TestRenameAndNotes(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	dir, before := w.desk.Bench.Dir(), w.desk.Machine()
	do := func(label string) {
		t.Helper()
		for _, i := range command(t, w, "This machine").ChildMenu.Items {
			if i.Label == label && !i.Disabled {
				i.Action()
				return
			}
		}
		t.Fatalf("no command %q", label)
	}
	do("Rename…")
	typeInto(t, w, "Yard", "Rename")
	if w.desk.Machine().Build.Name != "Yard" || !strings.HasPrefix(w.desk.Win.Title(), "Yard") || w.desk.Bench.Dir() != dir {
		t.Errorf("renamed to %q, title %q", w.desk.Machine().Build.Name, w.desk.Win.Title())
	}
	do("Notes…")
	typeInto(t, w, "windy", "Keep")
	command(t, w, "Notes on this take…").Action()
	typeInto(t, w, "crank stiff\nsecond half", "Keep")
	if m := w.desk.Machine(); m.Notes != "windy" || m.Takes[0].Notes != "crank stiff\nsecond half" {
		t.Errorf("notes %q and %q", m.Notes, m.Takes[0].Notes)
	}
	if said, row := w.take.Notes, w.history.TakeRow(0); !said.Visible() || said.Text != "“crank stiff …”" || !strings.Contains(row, "“crank stiff …”") {
		t.Errorf("the take says %q, its row %q", said.Text, row)
	}
	for range 3 {
		command(t, w, "Undo").Action()
	}
	if !reflect.DeepEqual(w.desk.Machine(), before) || w.take.Notes.Visible() || !strings.HasPrefix(w.desk.Win.Title(), before.Build.Name) {
		t.Errorf("undone it is %q with notes %q, title %q", w.desk.Machine().Build.Name, w.desk.Machine().Notes, w.desk.Win.Title())
	}
	w.closeMachine()
	choose(t, w, before.Build.Name, "Rename…")
	typeInto(t, w, "Barn", "Rename")
	choose(t, w, "Barn", "Notes…")
	typeInto(t, w, "of the list", "Keep")
	if m, err := machine.Load(dir); err != nil || m.Build.Name != "Barn" || m.Notes != "of the list" || w.desk.Bench != nil {
		t.Errorf("kept %q, %q, %v", m.Build.Name, m.Notes, err)
	}
}

// The keyboard gets out of notes and keeps them; Escape on changed ones asks first.
func TestNotesFromTheKeyboard(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	stage, overlays := w.stage(), w.desk.Win.Canvas().Overlays()
	w.take.NoteTake()
	e := w.desk.Win.Canvas().Focused().(*kit.Field)
	if e.AcceptsTab() {
		t.Error("the tab key stays in the notes")
	}
	e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if len(overlays.List()) != 0 {
		t.Fatal("it asks about notes that nobody changed")
	}
	w.take.NoteTake()
	e = w.desk.Win.Canvas().Focused().(*kit.Field)
	test.Type(e, "stiff")
	e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if len(overlays.List()) != 2 {
		t.Fatalf("escape on changed notes leaves %d dialogs, want notes and question", len(overlays.List()))
	}
	w.typed(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if w.desk.Win.Canvas().Focused() != e || e.Text != "stiff" {
		t.Fatalf("escape on the question goes to %T, the notes say %q", w.desk.Win.Canvas().Focused(), e.Text)
	}
	command(t, w, "Turned as advised").Action() // the menu gets Ctrl+Enter first
	if got := w.desk.Machine().Takes[0].Notes; got != "stiff" || len(overlays.List()) != 0 || w.stage() != stage {
		t.Errorf("kept %q, %d dialogs left", got, len(overlays.List()))
	}
	w.take.NoteTake()
	test.Type(w.desk.Win.Canvas().Focused(), "no ")
	w.desk.Win.Canvas().Focused().TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	pressIn(t, w, "Discard")
	if got := w.desk.Machine().Takes[0].Notes; got != "stiff" || len(overlays.List()) != 0 {
		t.Errorf("thrown away it is %q, %d dialogs left", got, len(overlays.List()))
	}
}

func TestDuplicateExportImport(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	want := w.desk.Machine()
	w.closeMachine()
	choose(t, w, want.Build.Name, "Duplicate")
	if w.found() != want.Build.Name+" copy, "+want.Build.Name {
		t.Errorf("the list has %s; notice %q", w.found(), w.desk.Notice.Text.Text)
	}
	dir := w.welcome.Shelf.Shown[1]
	path := filepath.Join(t.TempDir(), "sent")
	w.welcome.ExportZip(dir, path)
	if said := w.desk.Notice.Text.Text; !strings.Contains(said, "Exported to "+path+".zip.") {
		t.Fatalf("exporting says %q", said)
	}
	w.dropped([]fyne.URI{storage.NewFileURI(path + ".zip")})
	if w.desk.Bench == nil || w.desk.Bench.Dir() == dir || !reflect.DeepEqual(w.desk.Machine(), want) || w.take.Showing != 1 {
		t.Fatalf("imported %v, notice %q", w.desk.Bench, w.desk.Notice.Text.Text)
	}
	w.closeMachine()
	bad := filepath.Join(t.TempDir(), "words.zip")
	must.Do(t, os.WriteFile(bad, []byte("words"), 0o600))
	w.Open(bad)
	if said := w.desk.Notice.Text.Text; w.desk.Bench != nil || !strings.Contains(said, "words.zip was not imported: it is not a whole zip") {
		t.Errorf("a bad zip says %q", said)
	}
}

// A machine that another window has open says so, whatever is asked of it.
func TestMachineOpenElsewhere(t *testing.T) {
	w := testWindow(t)
	dir := keep(t, "Barn machine", nil)
	w.welcome.Refresh()
	other := must.Get(bench.Open(dir))(t)
	defer other.Close()
	for _, label := range []string{"Rename…", "Notes…", "Duplicate", "Export as one zip…"} {
		w.desk.Notice.Clear()
		choose(t, w, "Barn machine", label)
		if said := w.desk.Notice.Text.Text; !strings.Contains(said, "open in another Lagwright window") || w.desk.Win.Canvas().Overlays().Top() != nil {
			t.Errorf("%s says %q", label, said)
		}
	}
}

// Another machine is opened for a command in a job, where nobody waits for its disk.
func TestCommandsOnAnotherMachineAreJobs(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	dir, spawn, job := w.desk.Bench.Dir(), w.desk.Jobs.Spawn, func() {}
	w.closeMachine()
	w.desk.Jobs.Spawn = func(f func()) { job = f }
	w.welcome.AskName(dir)
	b, err := bench.Open(dir)
	if err != nil || !w.desk.Jobs.Busy() || w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Fatalf("it was opened at once: %v, busy %v", err, w.desk.Jobs.Busy())
	}
	b.Close()
	w.desk.Jobs.Spawn = spawn
	job()
	if title, _ := dialogIn(t, w); !strings.HasPrefix(strings.TrimSpace(title), "Rename the machine") || w.desk.Jobs.Busy() {
		t.Errorf("then it asks %q, busy %v", title, w.desk.Jobs.Busy())
	}
}

// What cannot be opened of the window's own takes is called by its name, not by a path.
func TestTakesAreCalledByTheirNames(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	test.Tap(w.loop.PlayTake)
	taken := w.desk.Machine().Takes[0]
	must.Do(t, os.Truncate(filepath.Join(w.desk.Bench.Dir(), taken.File), 20))
	w.take.Clear()
	w.history.Takes.Select(len(w.history.Taken) - 1)
	if said := w.desk.Notice.Text.Text; !strings.Contains(said, taken.File) || strings.Contains(said, w.desk.Bench.Dir()) {
		t.Errorf("it says %q", said)
	}
}
