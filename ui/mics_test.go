package ui

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/machine"
	"lagwright/internal/must"
	"lagwright/ui/prefs"
	"lagwright/ui/rail"
)

// Tapped the other way round after the zero check, the dialog keeps no skew.
func TestSkewIsForgottenWithTheRoles(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 8)
	m := machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2, Skew: calib.Skew{MS: 4, UncertaintyMS: 0.01, Knocks: 5}}}}
	must.Do(t, w.desk.Bench.SetMicrophones(m))
	w.desk.Jobs.Spawn = func(func()) {}
	w.setup.AskMicrophones()
	d := w.setup.Mics
	if now, err := d.Chosen(); err != nil || now.Voices[0].Skew.MS != 4 {
		t.Fatalf("kept as %+v, %v", now, err)
	}
	for _, c := range []struct {
		on     string
		stands bool
	}{{machine.NoRole(), false}, {"tub drum", true}} {
		d.Channels[1].Is.SetSelected(c.on)
		if d.Look(); strings.Contains(d.Note.Text, "hears 4.00 ms later") != c.stands {
			t.Errorf("with channel 2 on %s it says %q", c.on, d.Note.Text)
		}
	}
	d.Channels[0].Is.Selected, d.Channels[1].Is.Selected = "tub drum", machine.ReferenceRole()
	if now, err := d.Chosen(); err != nil || now.Voices[0].Skew.Known() {
		t.Errorf("swapped: %+v, %v", now, err)
	}
	d.Channels[0].Is.Selected, d.Channels[1].Is.Selected = machine.ReferenceRole(), "tub drum"
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

// A device that is lost shows as lost, on every channel, and cannot be kept.
func TestLostDeviceShows(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 8).EndAt = quickRate
	w.desk.Jobs.Spawn = func(func()) {}
	w.setup.AskMicrophones()
	d := w.setup.Mics
	rails := inDialog[*rail.Rail](t, w)
	for end := time.Now().Add(5 * time.Minute); !d.Keep.Disabled() && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		d.Look()
	}
	for _, r := range rails {
		if said := r.AccessibilityLabel(); !strings.Contains(said, "device lost") || !d.Keep.Disabled() {
			t.Errorf("%q; %s; kept it can be: %v", said, d.Said.Text, !d.Keep.Disabled())
		}
	}
	if len(rails) != 2 || !strings.Contains(d.Said.Text, "sends no sound any more") || strings.Contains(d.Said.Text, "record") {
		t.Errorf("of %d channels it says %s", len(rails), d.Said.Text)
	}
}

// What is wrong with a channel moves no row under the mouse.
func TestRowsOfChannelsStay(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 8).Source = quiet{}
	w.desk.Jobs.Spawn = func(func()) {}
	w.setup.AskMicrophones()
	d := w.setup.Mics
	last := d.Channels[len(d.Channels)-1].Is
	settle(shownDialog(t, w))
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(last)
	for range 50 {
		d.Look()
	}
	settle(shownDialog(t, w))
	if now := fyne.CurrentApp().Driver().AbsolutePositionForObject(last); now != at || !strings.Contains(d.Note.Text, "Channel 1: Nothing is coming in") {
		t.Errorf("the last row went from %v to %v; it says %q", at, now, d.Note.Text)
	}
}

// A machine that closes right after the space bar was pressed does not wait for the
// take's own end, and its guide click ends with it.
func TestLeaveLiveAtOnce(t *testing.T) {
	w := testWindow(t)
	realMachine(t, w, 24).Source = quiet{} // so that the take ends after five minutes only
	must.Do(t, w.desk.Bench.SetMicrophones(machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2}}}))
	w.desk.Jobs.Spawn = func(func()) {}
	w.desk.Prefs.SetBool(prefs.KeyClick, true)
	test.Tap(w.loop.PlayTake)
	if w.record.Live == nil {
		t.Fatal(w.desk.Notice.Text.Text)
	}
	l := w.record.Live.Take
	w.put(nil)
	if say := l.Now().Say; w.record.Live != nil || say.Reason != handsfree.ByHand {
		t.Errorf("the take goes on: %v; it ended as %q", w.record.Live != nil, say.Reason)
	}
	speaker := must.Get(w.listening.Speaker())(t)
	for end := time.Now().Add(5 * time.Minute); speaker.QuietS() < 0.1; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the guide click goes on")
		}
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
