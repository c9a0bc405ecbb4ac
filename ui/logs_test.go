package ui

import (
	"errors"
	"fmt"
	"log"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/ui/kit"
	"lagwright/ui/logbook"
	"lagwright/ui/prefs"
	"lagwright/ui/shelf"
)

// logOf is a log in a folder of the test's own, after a run that crashed by these
// words.
func logOf(t *testing.T, crash string) *logbook.Book {
	t.Helper()
	dir := t.TempDir()
	must.Do(t, os.WriteFile(filepath.Join(dir, "crash.txt"), []byte(crash), 0o600))
	t.Setenv("LAGWRIGHT_STATE", dir)
	old, flags, writer := slog.Default(), log.Flags(), log.Writer()
	b := must.Get(logbook.Open(dir, "1.2.3"))(t)
	t.Cleanup(func() { b.Close(); slog.SetDefault(old); log.SetFlags(flags); log.SetOutput(writer) })
	return b
}

// TestDiagnosis: what is copied says what happened, and names nobody and nothing.
func TestDiagnosis(t *testing.T) {
	w := testWindow(t)
	if !command(t, w, "Copy a diagnostic report").Disabled {
		t.Error("without a log there is something to copy")
	}
	w.KeepLog(logOf(t, ""))
	if w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Fatal("a crash is offered where there was none")
	}
	if command(t, w, "Copy a diagnostic report").Disabled {
		t.Error("with a log there is nothing to copy")
	}
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.Open("/home/anna/Mill of Anna")
	command(t, w, "Copy a diagnostic report").Action()
	report := fyne.CurrentApp().Clipboard().Content()
	for _, want := range []string{"Lagwright: 1.2.3\n", "toolkit: Fyne", "sound inputs: 1\n", "sound outputs: 1\n", "window: ", "machine: [takes 1 voices",
		"machine opened", "takes=0", "simulated=true", "msg=take id=1 outcome=move", "level=WARN msg=told"} {
		if !strings.Contains(report, want) {
			t.Errorf("there is no %q in\n%s", want, report)
		}
	}
	m := w.desk.Machine()
	names := append([]string{"anna", "Anna", m.Build.Name, filepath.Dir(w.desk.Bench.Dir())}, m.Build.Voices...)

	// Whatever is told in another language is logged in English, with none of its names.
	must.Do(t, prefs.Speak("de"))
	t.Cleanup(func() { prefs.Speak(prefs.English) })
	const microphone, voice, song, folder = "Mikrofon von Jette", "Jettes große; Trommel", "Lied für Ole", "/home/hildegard/Hof: alte Mühle/Jettes Walze"
	w.welcome.Create(shelf.NewMachine("Spieldose von Jette", voice, 96, 5))
	mics := machine.Microphones{Device: microphone, RateHz: quickRate, Channels: 2, Reference: 1, Voices: []machine.Microphone{{Voice: voice, Channel: 2}}}
	tell := func(err error) {
		t.Helper()
		if err == nil {
			t.Error("all goes well where something should be told")
		}
		w.desk.Tell(err)
	}
	must.Do(t, errors.Join(w.desk.Bench.SetMicrophones(mics), w.desk.Bench.EditSongs(machine.AddSong(0, machine.Song{Name: song, TempoBPM: 96, Voices: []string{voice}}))))
	w.record.RecordTake() // the microphone is not there
	rec, _ := practice.Default().Play(practice.Play{TempoBPM: 96, Hits: 40, Seed: 11, Rate: quickRate})
	w.desk.Sound = named{&capture.Replay{Source: rec, Speed: 8, EndAt: 4 * quickRate}, microphone}
	w.record.RecordTake() // the microphone stops by itself
	w.Open(folder)
	tell(w.desk.Bench.ExportSongs(filepath.Join(t.TempDir(), song+".csv")))
	w.songs.ImportSongs(folder + "/" + song + ".csv")
	tell(w.desk.Bench.EditSongs(machine.AddSong(0, machine.Song{Name: song, TempoBPM: 96, Voices: []string{microphone}})))
	_, err := take.Open(folder + "/" + song + ".wav")
	tell(errors.Join(err, os.Chdir(folder), errors.New(song)))
	fyne.LogError("Unable to read "+folder, os.Chdir(folder))
	w.logs.CopyDiagnosis()
	dir, _ := logbook.Dir()
	logged := must.Get(os.ReadFile(filepath.Join(dir, "lagwright.log")))(t)
	report = fyne.CurrentApp().Clipboard().Content()
	for _, text := range []string{string(logged), report} {
		for _, want := range []string{"… is not there: plug it in, or choose another device", "msg=recording fault=\"… stopped by itself", "folder …: there is no machine in it", "has a semicolon in its name",
			"the set list … cannot be opened: ", "the song …: the machine has no voice …", "… does not exist: check the name and the folder; stat: no such file or directory; chdir: no such", "Cause: chdir …: no such file or directory"} {
			if !strings.Contains(text, want) {
				t.Errorf("there is no %q in\n%s", want, text)
			}
		}
		for _, name := range append(names, "Jette", "Mikrofon", "Trommel", "Lied", "Ole", "Spieldose", "hildegard", "Hof", "Mühle", "Walze", "ä", "ö", "ü", "ß", " ist ", " und ") {
			if strings.Contains(text, name) {
				t.Errorf("%q is in\n%s", name, text)
			}
		}
	}
	if !strings.Contains(report, "sound outputs: … does not list its devices (") {
		t.Errorf("the outputs are missing in\n%s", report)
	}
}

// named is a device of another name, and a computer that plays on none.
type named struct {
	*capture.Replay
	name string
}

func (n named) Inputs() ([]capture.Device, error) {
	all, err := n.Replay.Inputs()
	all[0].Name = n.name
	return all, err
}

func (n named) Outputs() ([]capture.Device, error) {
	return nil, i18n.Errorf("%s does not list its devices (%w): check the computer's sound settings", n.name, os.ErrPermission)
}

// crashButtons are those of the dialog after a crash, by their words.
func crashButtons(t *testing.T, w *Window) map[string]*kit.Button {
	t.Helper()
	all := map[string]*kit.Button{}
	for _, b := range inDialog[*kit.Button](t, w) {
		all[b.Text] = b
	}
	return all
}

// TestCrashIsOffered: with the last machine, once, to copy, and not on a display on the machine.
func TestCrashIsOffered(t *testing.T) {
	const crash = "panic: the plate is gone\n\ngoroutine 1 [running]:\nmain.main()\n\t/home/anna/lagwright/main.go:7\n"
	w := testWindow(t)
	w.Practice()
	dir := w.desk.Bench.Dir()
	w.put(nil)
	w.KeepLog(logOf(t, crash))
	test.Tap(crashButtons(t, w)["Open the last machine"])
	if w.desk.Bench == nil || w.desk.Bench.Dir() != dir {
		t.Error("the last machine does not open")
	}
	w.KeepLog(w.logs.Log)
	if w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("a crash is told a second time")
	}
	w.KeepLog(logOf(t, crash))
	if crashButtons(t, w)["Open the last machine"] != nil {
		t.Error("a machine is offered over the one that is open")
	}
	test.Tap(crashButtons(t, w)["Copy the report"])
	if got := fyne.CurrentApp().Clipboard().Content(); !strings.Contains(got, "panic: the plate is gone") || !strings.Contains(got, "lagwright/main.go:7") || strings.Contains(got, "anna") {
		t.Errorf("copied\n%s", got)
	}
	w.wholeScreen = true
	w.KeepLog(logOf(t, crash))
	if w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("a crash lies over a display that nobody attends")
	}
}

// TestCrashHasRoom: the dialog fits with all its buttons where text is large.
func TestCrashHasRoom(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.put(nil)
	for _, percent := range []int{100, 200} {
		w.desk.Prefs.SetString(prefs.KeyText, fmt.Sprint(percent))
		w.relook()
		size := fyne.NewSize(1024, 700)
		w.desk.Win.Resize(size)
		w.KeepLog(logOf(t, "panic: x\n"))
		o := shownDialog(t, w)
		settle(o)
		for _, words := range append(unlaid(o, ""), outside(o, size, "window")...) {
			t.Errorf("text at %d %%: %s", percent, words)
		}
		if least := o.MinSize(); least.Width > size.Width || least.Height > size.Height {
			t.Errorf("text at %d %%: it needs %v", percent, least)
		}
		kit.DismissTop(w.desk.Win.Canvas())
	}
}
