package ui

import (
	"log"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/ui/logbook"
)

// logOf is a log in a folder of the test's own, after a run that crashed by these
// words.
func logOf(t *testing.T, crash string) *logbook.Book {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "crash.txt"), []byte(crash), 0o600); err != nil {
		t.Fatal(err)
	}
	old, flags, writer := slog.Default(), log.Flags(), log.Writer()
	b, err := logbook.Open(dir, "1.2.3")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close(); slog.SetDefault(old); log.SetFlags(flags); log.SetOutput(writer) })
	return b
}

// TestDiagnosis: what is copied says what happened, and names nobody.
func TestDiagnosis(t *testing.T) {
	w := testWindow(t)
	if !command(t, w, "Copy a diagnostic report").Disabled {
		t.Error("without a log there is something to copy")
	}
	w.KeepLog(logOf(t, ""))
	if w.win.Canvas().Overlays().Top() != nil {
		t.Fatal("a crash is offered where there was none")
	}
	if command(t, w, "Copy a diagnostic report").Disabled {
		t.Error("with a log there is nothing to copy")
	}
	w.Practice()
	test.Tap(w.loop.playTake)
	w.OpenSession("/home/anna/Mill of Anna")
	command(t, w, "Copy a diagnostic report").Action()
	report := w.app.Clipboard().Content()
	for _, want := range []string{"Lagwright: 1.2.3\n", "toolkit: Fyne", "sound inputs: 1\n", "sound outputs: 1\n", "window: ", "session: [takes 1 voices",
		"session opened", "takes=0", "simulated=true", "msg=take id=1 outcome=move", "level=WARN msg=told"} {
		if !strings.Contains(report, want) {
			t.Errorf("there is no %q in\n%s", want, report)
		}
	}
	s := w.session()
	for _, name := range append([]string{"anna", "Anna", s.Name, s.Machine.Name, filepath.Dir(w.bench.Dir())}, s.Machine.Voices...) {
		if strings.Contains(report, name) {
			t.Errorf("%q is in\n%s", name, report)
		}
	}
}

// crashButtons are those of the dialog after a crash, by their words.
func crashButtons(t *testing.T, w *Window) map[string]*button {
	t.Helper()
	all := map[string]*button{}
	for _, b := range inDialog[*button](t, w) {
		all[b.Text] = b
	}
	return all
}

// TestCrashIsOffered: with the last session, once, to copy or to delete.
func TestCrashIsOffered(t *testing.T) {
	const crash = "panic: the plate is gone\n\ngoroutine 1 [running]:\nmain.main()\n\t/home/anna/lagwright/main.go:7\n"
	w := testWindow(t)
	w.Practice()
	dir := w.bench.Dir()
	w.put(nil)
	w.KeepLog(logOf(t, crash))
	test.Tap(crashButtons(t, w)["Open the last session"])
	if w.bench == nil || w.bench.Dir() != dir {
		t.Error("the last session does not open")
	}
	if w.log.Crashed() == "" {
		t.Error("the report is gone though nobody copied or deleted it")
	}
	w.KeepLog(w.log)
	if crashButtons(t, w)["Open the last session"] != nil {
		t.Error("a session is offered over the one that is open")
	}
	test.Tap(crashButtons(t, w)["Copy the report"])
	if got := w.app.Clipboard().Content(); !strings.Contains(got, "panic: the plate is gone") || !strings.Contains(got, "lagwright/main.go:7") || strings.Contains(got, "anna") {
		t.Errorf("copied\n%s", got)
	}
	w.KeepLog(w.log)
	if w.win.Canvas().Overlays().Top() != nil {
		t.Error("a report that was copied is offered again")
	}
	w.KeepLog(logOf(t, crash))
	test.Tap(crashButtons(t, w)["Delete the report"])
	if w.log.Crashed() != "" || w.win.Canvas().Overlays().Top() != nil {
		t.Error("the report is not deleted")
	}
}

// TestCrashHasRoom: the dialog fits with all its buttons where text is large.
func TestCrashHasRoom(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.put(nil)
	for _, percent := range []int{100, 200} {
		w.app.Preferences().SetInt(prefText, percent)
		w.relook()
		size := fyne.NewSize(1024, 700)
		w.win.Resize(size)
		w.KeepLog(logOf(t, "panic: x\n"))
		o := shownDialog(t, w)
		settle(o)
		for _, words := range append(unlaid(o, ""), outside(o, size, "window")...) {
			t.Errorf("text at %d %%: %s", percent, words)
		}
		if least := o.MinSize(); least.Width > size.Width || least.Height > size.Height {
			t.Errorf("text at %d %%: it needs %v", percent, least)
		}
		dismissTop(w.win.Canvas())
	}
}
