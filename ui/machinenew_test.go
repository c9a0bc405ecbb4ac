package ui

import (
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib/capture"
)

// deaf is a computer without anything to record from.
type deaf struct{ capture.Sound }

func (deaf) Inputs() ([]capture.Device, error) { return nil, nil }

// Where there is no microphone, none is asked for.
func TestBeginWhereNothingCanBeRecorded(t *testing.T) {
	w := testWindow(t)
	w.desk.Sound = deaf{}
	begin(t, w)
	if w.desk.Win.Canvas().Overlays().Top() != nil || w.desk.Machine().Build.Name != "Cart" {
		t.Errorf("microphones are asked for where there is nothing to record from; the machine is %q", w.desk.Machine().Build.Name)
	}
}

// begin fills the form of a new machine.
func begin(t *testing.T, w *Window) {
	t.Helper()
	w.welcome.AskMachine()
	for entry, text := range map[interface{ SetText(string) }]string{w.welcome.Begin.Name: "Cart", w.welcome.Begin.Voices: "drum, bar", w.welcome.Begin.Tempo: "72"} {
		entry.SetText(text)
	}
	_, buttons := dialogIn(t, w)
	test.Tap(buttons["Begin"])
}

// Where there is a microphone, a new machine goes on to them.
func TestBeginGoesOnToTheMicrophones(t *testing.T) {
	w := testWindow(t)
	w.desk.Jobs.Spawn = func(func()) {} // nobody looks at levels
	begin(t, w)
	said, buttons := dialogIn(t, w)
	if w.setup.Mics == nil || buttons["Find them by tapping"] == nil || w.desk.Machine().Build.Name != "Cart" {
		t.Fatalf("after Begin stands %q", said)
	}
	test.Tap(buttons["Cancel"])
}
