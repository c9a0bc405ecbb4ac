package machine

import (
	"bytes"
	"cmp"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"lagwright/calib/i18n"
	"lagwright/internal/i18ntest"
	"lagwright/internal/must"
)

// What a machine keeps is told in the language in use; the builder's own words are
// left as they are.
func TestKeptWordsAreTold(t *testing.T) {
	for steps, want := range map[int]string{5: "the pin stuck; first entered as 5 ahead", -4: "the pin stuck; first entered as 4 back", 0: "the pin stuck; first entered as no move"} {
		m := Move{Note: "the pin stuck"}
		m.KeepFirst(steps)
		m.KeepFirst(7) // what was told first stays the first
		if got := m.NoteWords(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	own := Move{Note: "the pin stuck; first entered as a joke"}
	origins := map[i18n.Message]string{FoundInFolder: "found in the machine folder", Simulated: "simulated", OpenedFrom("crank.wav"): "opened from crank.wav", RecordedFrom("Two inputs"): "recorded from Two inputs"}
	for origin, want := range origins {
		if got := origin.String(); got != want {
			t.Errorf("in English %q is told as %q", want, got)
		}
	}
	i18ntest.Use(t)
	var texts []string
	for _, steps := range []int{5, -4, 0} {
		texts = append(texts, Move{First: &steps}.NoteWords())
	}
	for origin := range origins {
		texts = append(texts, origin.String())
	}
	i18ntest.All(t, texts)
	if own.NoteWords() != own.Note {
		t.Errorf("%q", own.NoteWords())
	}
}

// Everything that can be wrong with a machine is a phrase.
func TestRefusalsAreTold(t *testing.T) {
	i18ntest.Use(t)
	dir := t.TempDir()
	var texts []string
	for _, spoil := range []func(*Machine){
		func(m *Machine) { m.ToleranceMS = -1 },
		func(m *Machine) { m.Target.TempoBPM = 0 },
		func(m *Machine) { m.Target.Voice = "flute" },
		func(m *Machine) { m.Build.Voices = nil },
		func(m *Machine) { m.Build.Voices = append(m.Build.Voices, "") },
		func(m *Machine) { m.Build.Voices = append(m.Build.Voices, m.Build.Voices[0]) },
		func(m *Machine) { m.Build.Plate.NotchesPerTurn = -1 },
		func(m *Machine) { m.Build.PerBeat = -1 },
		func(m *Machine) { m.Build.Wheel.BeatsPerTurn = -1 },
		func(m *Machine) { m.Build.Wheel.PinRadiusMM = -1 },
		func(m *Machine) { m.Build.Falls = []Fall{{Voice: "flute"}} },
		func(m *Machine) { m.Build.Falls = []Fall{{Voice: m.Build.Voices[0], DropMM: -1}} },
		func(m *Machine) { m.Build.Falls = []Fall{{Voice: m.Build.Voices[0], DiameterMM: -1}} },
		func(m *Machine) { m.Build.Falls = []Fall{{Voice: m.Build.Voices[0], KGPerM3: -1}} },
		func(m *Machine) { m.Build.Log = []LogEntry{{Part: "lid"}} },
		func(m *Machine) { m.Build.Log = []LogEntry{{Part: Pins, Voices: []string{"flute"}}} },
		func(m *Machine) { m.Takes[0].Conditions = &Conditions{HumidityPercent: 101} },
		func(m *Machine) { m.Takes[0].Conditions = &Conditions{TemperatureC: new(-273.0)} },
		func(m *Machine) { m.Takes[1].ID = m.Takes[0].ID },
		func(m *Machine) { m.Takes[0].ID = 0 },
		func(m *Machine) { m.Takes[0].File = "../x.wav" },
		func(m *Machine) { m.Takes[0].Reference = 0 },
		func(m *Machine) { m.Songs = []Song{{Name: ""}} },
		func(m *Machine) { m.Songs = []Song{{Name: "Mill tune", TempoBPM: 60, Voices: []string{"flute"}}} },
		func(m *Machine) { m.Songs = []Song{{Name: "Mill tune", TempoBPM: 60, Importance: -1}} },
		func(m *Machine) { m.Microphones = &Microphones{} },
		func(m *Machine) {
			m.Microphones = &Microphones{RateHz: 48000, Channels: 2, Reference: 1, Voices: []Microphone{{Voice: m.Build.Voices[0], Channel: 1}}}
		},
		func(m *Machine) {
			v := m.Build.Voices[0]
			m.Microphones = &Microphones{RateHz: 48000, Channels: 2, Reference: 1, Voices: []Microphone{{Voice: v, Channel: 2}, {Voice: v, Channel: 2}}}
		},
		func(m *Machine) {
			m.Microphones = &Microphones{RateHz: 48000, Channels: 2, Reference: 1, Voices: []Microphone{{Voice: m.Build.Voices[0], Channel: 3}}}
		},
	} {
		m := sample()
		spoil(&m)
		_, err := Create(filepath.Join(dir, "mill"), m)
		if err == nil {
			t.Fatal("a spoilt machine was made")
		}
		texts = append(texts, err.Error())
	}
	for _, table := range []string{"", "song\n", "song,tempo_bpm\nx,y\n", "song,tempo_bpm\nx,60,1\n", "song,bpm\nx,y\nx,y\n", "\x00\x01", "song,tempo_bpm\n\"x,60\n"} {
		if read, err := ReadSongs(bytes.NewReader([]byte(table)), []string{"drum"}); cmp.Or(err, errors.Join(read.Wrong...)) == nil {
			t.Errorf("the set list %q was read", table)
		} else {
			texts = append(texts, cmp.Or(err, errors.Join(read.Wrong...)).Error())
		}
	}
	texts = append(texts, openSaid(t, filepath.Join(dir, "none"), nil), openSaid(t, filepath.Join(dir, "broken"), []byte("{")), openSaid(t, filepath.Join(dir, "later"), []byte(`{"format":"lagwright-machine","version":99}`)))
	quoted := []string{dir, fileName, backupName, "tempo_bpm", "song"}
	texts = slices.DeleteFunc(texts, func(s string) bool { return i18ntest.Bare(s, quoted...) == "" })
	for _, s := range texts {
		t.Errorf("no phrase says %q of %q", i18ntest.Bare(s, quoted...), s)
	}
}

// openSaid is what opening a folder with a machine.json of such bytes says.
func openSaid(t *testing.T, dir string, data []byte) string {
	t.Helper()
	if data != nil {
		must.Do(t, os.MkdirAll(dir, 0o700))
		must.Do(t, os.WriteFile(filepath.Join(dir, fileName), data, 0o600))
	}
	f, err := Open(dir)
	if err == nil {
		f.Close()
		t.Fatalf("%s was opened", dir)
	}
	return err.Error()
}

// A machine is no worse for words that this Lagwright cannot tell again: the English
// stands beside them.
func TestWhatCannotBeToldAgain(t *testing.T) {
	for _, told := range []string{`{"say":"%[1]d of 1 tempo tight","with":[1]}`, `{"say":"ahead","with":[true]}`, `[]`, `true`} {
		data := bytes.ReplaceAll(own(t).data, []byte(`"text":`), []byte(`"told": `+told+`, "text":`))
		m, err := decode(data)
		if err != nil {
			t.Errorf("%s: %v", told, err)
			continue
		}
		if got, want := m.Takes[0].Heard[0].Reading.Warnings[0].Words(), sample().Takes[0].Heard[0].Reading.Warnings[0].Text; got != want {
			t.Errorf("%s: %q, want %q", told, got, want)
		}
	}
}
