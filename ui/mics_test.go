package ui

import (
	"testing"

	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/machine"
	"lagwright/ui/setup"
)

// Tapped the other way round after the zero check, the dialog keeps no skew.
func TestSkewIsForgottenWithTheRoles(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 8)
	m := machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2, Skew: calib.Skew{MS: 4, UncertaintyMS: 0.01, Knocks: 5}}}}
	if err := w.desk.Bench.SetMicrophones(m); err != nil {
		t.Fatal(err)
	}
	w.desk.Jobs.Spawn = func(func()) {}
	w.setup.AskMicrophones()
	d := w.setup.Mics
	if now, err := d.Chosen(); err != nil || now.Voices[0].Skew.MS != 4 {
		t.Fatalf("kept as %+v, %v", now, err)
	}
	d.Channels[0].Is.Selected, d.Channels[1].Is.Selected = "tub drum", setup.OnReference
	if now, err := d.Chosen(); err != nil || now.Voices[0].Skew.Known() {
		t.Errorf("swapped: %+v, %v", now, err)
	}
	d.Channels[0].Is.Selected, d.Channels[1].Is.Selected = setup.OnReference, "tub drum"
	test.Tap(d.Tap) // and a check ends with its device
	d.Open()
	if d.Check != nil || d.Tap.Text != "Find them by tapping" || d.Zero.Disabled() {
		t.Errorf("the check goes on: %q, zero check disabled: %v", d.Tap.Text, d.Zero.Disabled())
	}
	test.Tap(d.Keep)
	if now := w.desk.Machine().Microphones; now.Voices[0].Skew.MS != 4 {
		t.Errorf("kept %+v", now)
	}
}

// A machine that closes right after the space bar was pressed does not wait for the
// take's own end.
func TestLeaveLiveAtOnce(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 24).Source = quiet{} // so that the take ends after five minutes only
	if err := w.desk.Bench.SetMicrophones(machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2}}}); err != nil {
		t.Fatal(err)
	}
	w.desk.Jobs.Spawn = func(func()) {}
	test.Tap(w.loop.Record)
	if w.record.Live == nil {
		t.Fatal(w.desk.Notice.Text.Text)
	}
	l := w.record.Live.Take
	w.put(nil)
	if say := l.Now().Say; w.record.Live != nil || say.Reason != handsfree.ByHand {
		t.Errorf("the take goes on: %v; it ended as %q", w.record.Live != nil, say.Reason)
	}
}

// What had the focus in the welcome does not keep the space bar from the machine.
func TestMachineTakesTheKeys(t *testing.T) {
	w := testWindow(t)
	gone := widget.NewEntry()
	w.desk.Win.SetContent(gone)
	w.desk.Win.Canvas().Focus(gone)
	w.Practice()
	if f := w.desk.Win.Canvas().Focused(); f != nil {
		t.Errorf("%T has the keys", f)
	}
}
