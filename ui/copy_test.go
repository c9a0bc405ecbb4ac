package ui

import (
	"bytes"
	"errors"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/internal/must"
	"lagwright/plotting"
)

// Every figure goes to the clipboard as a picture, and words and table as text.
func TestCopy(t *testing.T) {
	if testing.Short() {
		t.Skip("draws every picture")
	}
	w := testWindow(t)
	w.Practice()
	var got []byte
	w.export.CopyPNG = func(png []byte) error { got = png; return nil }
	for _, label := range []string{"The reading in words", "The report", "The take picture", "The hit fan", "All readings as a table"} {
		if !command(t, w, label).Disabled {
			t.Errorf("%s is offered before there is a take", label)
		}
	}
	test.Tap(w.loop.PlayTake)
	sizes := map[string]bool{}
	for _, label := range []string{"The report", "The take picture", "The hit fan", "The curve"} {
		got = nil
		command(t, w, label).Action()
		picture, err := png.DecodeConfig(bytes.NewReader(got))
		if err != nil || picture.Width < 1000 {
			t.Fatalf("%s: %v, %d wide", label, err, picture.Width)
		}
		sizes[string(got)] = true
		if want := "Copied the " + strings.ToLower(strings.TrimPrefix(label, "The ")) + "."; !strings.Contains(w.desk.Notice.Text.Text, want) {
			t.Errorf("%s says %q", label, w.desk.Notice.Text.Text)
		}
	}
	if len(sizes) != 4 {
		t.Errorf("%d different pictures of 4", len(sizes))
	}
	command(t, w, "The reading in words").Action()
	if words := fyne.CurrentApp().Clipboard().Content(); !strings.Contains(words, "Weir Lane No. 2 · Take 1 ·") || !strings.Contains(words, "pairs: 12 of 12 used") {
		t.Errorf("copied %q", words)
	}
	command(t, w, "All readings as a table").Action()
	if table := fyne.CurrentApp().Clipboard().Content(); !strings.HasPrefix(table, "take\tdate\t") || strings.Count(table, "\n") != 2 {
		t.Errorf("copied %q", table)
	}
}

// Where pictures cannot be copied the window says why, and what to do instead.
func TestCopyRefused(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.export.CopyPNG = func([]byte) error { return errors.New("on this system only text can be copied") }
	command(t, w, "The hit fan").Action()
	if said := w.desk.Notice.Text.Text; !strings.Contains(said, "only text") || !strings.Contains(said, "save it instead") {
		t.Errorf("the window says %q", said)
	}
}

// The report is of the take and voice in sight, and the table of all of them.
func TestSaveReportAndReadings(t *testing.T) {
	if testing.Short() {
		t.Skip("draws a report")
	}
	w := testWindow(t)
	w.Practice()
	if !command(t, w, "Save a report…").Disabled || !command(t, w, "Save all readings…").Disabled {
		t.Error("report or readings are offered before there is a take")
	}
	w.record.HearAll(true)
	test.Tap(w.loop.PlayTake)
	other := w.desk.Machine().Build.Voices[1]
	w.take.ShowVoice(other)
	dir := t.TempDir()
	report, table := filepath.Join(dir, "report.svg"), filepath.Join(dir, "readings.csv")
	w.export.Write(report, w.export.Report())
	data, err := os.ReadFile(report)
	if err != nil || !strings.Contains(string(data), ">"+other+"<") || strings.Contains(string(data), "recording is missing") {
		t.Errorf("%v: the report is not of the %s with its sound", err, other)
	}
	fan := must.Get(w.export.Fan()())(t)
	w.take.ShowVoice(w.desk.Machine().Build.Voices[0])
	if again, err := w.export.Fan()(); err != nil || bytes.Equal(drawn(t, fan), drawn(t, again)) {
		t.Errorf("two voices have the same fan: %v", err)
	}
	w.export.WriteReadings(table)
	rows, err := os.ReadFile(table)
	if voices := len(w.desk.Machine().Build.Voices); err != nil || strings.Count(string(rows), "\r\n") != 1+voices {
		t.Errorf("%v, %d voices in\n%s", err, voices, rows)
	}
	w.put(nil)
	if _, err := w.export.Report()(); err == nil {
		t.Error("a report without a take")
	}
}

func drawn(t *testing.T, f *plotting.Figure) []byte {
	t.Helper()
	var b bytes.Buffer
	must.Do(t, f.WriteTo(&b, "svg"))
	return b.Bytes()
}
