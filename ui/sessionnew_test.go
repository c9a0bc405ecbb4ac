package ui

import (
	"reflect"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/session"
)

// deaf is a computer without anything to record from.
type deaf struct{ capture.Sound }

func (deaf) Inputs() ([]capture.Device, error) { return nil, nil }

func built(s *session.Session) {
	s.Machine.Plate = calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 0.25}
	s.Machine.PerBeat, s.Machine.Unidirectional = 2, true
	s.Machine.Falls = []session.Fall{{Voice: "drum", DropMM: 285, DiameterMM: 11, KGPerM3: 7800}, {Voice: "bar", DropMM: 214}}
	s.Machine.Wheel = session.Wheel{BeatsPerTurn: 16, PinRadiusMM: 240}
	s.ToleranceMS = 4
	s.Microphones = &session.Microphones{Device: "Desk box", RateHz: 48000, Channels: 3, Reference: 1,
		Voices: []session.Microphone{{Voice: "drum", Channel: 2, Skew: calib.Skew{}}, {Voice: "bar", Channel: 3}}}
}

// A new session takes over an earlier one's machine, but no voice that is not named any
// more.
func TestBeginLikeAnEarlierSession(t *testing.T) {
	w := testWindow(t)
	w.desk.Sound = deaf{}
	dir := keep(t, "Spring tuning", "Barn machine", built)
	w.Practice()
	w.closeSession()
	was, err := session.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	w.welcome.AskSession()
	form := w.welcome.Begin
	if len(form.Like.Options) != 1 || !strings.HasPrefix(form.Like.Options[0], "Spring tuning") {
		t.Fatalf("it offers %q", form.Like.Options)
	}
	form.Like.SetSelectedIndex(0)
	form.Tempo.SetText("96")
	_, buttons := dialogIn(t, w)
	test.Tap(buttons["Begin"])
	got := w.desk.Session()
	if !reflect.DeepEqual(got.Machine, was.Machine) || !reflect.DeepEqual(got.Microphones, was.Microphones) || got.ToleranceMS != 4 ||
		got.Target != (session.Target{TempoBPM: 96, Voice: "drum"}) || len(got.Takes) != 0 {
		t.Errorf("begun with %+v, microphones %+v, aimed at %+v", got.Machine, got.Microphones, got.Target)
	}
	if w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("microphones are asked for where there is nothing to record from")
	}
	w.closeSession()
	w.welcome.AskSession()
	w.welcome.Begin.Like.SetSelectedIndex(1)
	w.welcome.Begin.Voices.SetText("bar, gong")
	w.welcome.Begin.Tempo.SetText("60")
	_, buttons = dialogIn(t, w)
	test.Tap(buttons["Begin"])
	got = w.desk.Session()
	if !reflect.DeepEqual(got.Machine.Falls, was.Machine.Falls[1:]) || !reflect.DeepEqual(got.Microphones.Voices, was.Microphones.Voices[1:]) {
		t.Errorf("with other voices: %+v, %+v", got.Machine.Falls, got.Microphones)
	}
}

// Where there is a microphone, a new session goes on to them.
func TestBeginGoesOnToTheMicrophones(t *testing.T) {
	w := testWindow(t)
	w.desk.Jobs.Spawn = func(func()) {} // nobody looks at levels
	w.welcome.AskSession()
	if w.welcome.Begin.Like != nil {
		t.Error("it offers an earlier session where there is none")
	}
	for entry, text := range map[interface{ SetText(string) }]string{w.welcome.Begin.Name: "Cart", w.welcome.Begin.Voices: "drum, bar", w.welcome.Begin.Tempo: "72"} {
		entry.SetText(text)
	}
	_, buttons := dialogIn(t, w)
	test.Tap(buttons["Begin"])
	said, buttons := dialogIn(t, w)
	if w.setup.Mics == nil || buttons["Find them by tapping"] == nil || w.desk.Session().Machine.Name != "Cart" {
		t.Fatalf("after Begin stands %q", said)
	}
	test.Tap(buttons["Cancel"])
}
