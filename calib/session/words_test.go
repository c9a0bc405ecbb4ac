package session

import (
	"bytes"
	"cmp"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"lagwright/internal/i18ntest"
)

// What a session keeps is told in the language in use; the builder's own words are
// left as they are.
func TestKeptWordsAreTold(t *testing.T) {
	for steps, want := range map[int]string{5: "the pin stuck; first entered as 5 ahead", -4: "the pin stuck; first entered as 4 back", 0: "the pin stuck; first entered as no move"} {
		m := Move{Note: "the pin stuck"}
		m.FirstTold(steps)
		m.FirstTold(7) // what was told first stays the first
		if got := m.NoteWords(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	own := Move{Note: "the pin stuck; first entered as a joke"}
	origins := []string{FoundInFolder, Simulated, OpenedFrom("crank.wav"), RecordedFrom("Two inputs"), "out of the blue"}
	for _, origin := range origins {
		if got := (Take{Origin: origin}).OriginWords(); got != origin {
			t.Errorf("in English %q is told as %q", origin, got)
		}
	}
	i18ntest.Use(t)
	var texts []string
	for _, steps := range []int{5, -4, 0} {
		texts = append(texts, Move{First: &steps}.NoteWords())
	}
	for _, origin := range origins[:4] {
		texts = append(texts, (Take{Origin: origin}).OriginWords())
	}
	i18ntest.All(t, texts)
	if got := (Take{Origin: origins[4]}).OriginWords(); got != origins[4] || own.NoteWords() != own.Note {
		t.Errorf("%q, %q", got, own.NoteWords())
	}
}

// Everything that can be wrong with a session is a phrase.
func TestRefusalsAreTold(t *testing.T) {
	i18ntest.Use(t)
	dir := t.TempDir()
	var texts []string
	for _, spoil := range []func(*Session){
		func(s *Session) { s.ToleranceMS = -1 },
		func(s *Session) { s.Target.TempoBPM = 0 },
		func(s *Session) { s.Target.Voice = "flute" },
		func(s *Session) { s.Machine.Voices = nil },
		func(s *Session) { s.Machine.Voices = append(s.Machine.Voices, "") },
		func(s *Session) { s.Machine.Voices = append(s.Machine.Voices, s.Machine.Voices[0]) },
		func(s *Session) { s.Machine.Plate.NotchesPerTurn = -1 },
		func(s *Session) { s.Machine.PerBeat = -1 },
		func(s *Session) { s.Machine.Wheel.BeatsPerTurn = -1 },
		func(s *Session) { s.Machine.Wheel.PinRadiusMM = -1 },
		func(s *Session) { s.Machine.Falls = []Fall{{Voice: "flute"}} },
		func(s *Session) { s.Machine.Falls = []Fall{{Voice: s.Machine.Voices[0], DropMM: -1}} },
		func(s *Session) { s.Machine.Falls = []Fall{{Voice: s.Machine.Voices[0], DiameterMM: -1}} },
		func(s *Session) { s.Machine.Falls = []Fall{{Voice: s.Machine.Voices[0], KGPerM3: -1}} },
		func(s *Session) { s.Machine.Log = []Work{{Part: "lid"}} },
		func(s *Session) { s.Machine.Log = []Work{{Part: Pins, Voices: []string{"flute"}}} },
		func(s *Session) { s.Takes[0].Air = &Air{HumidityPercent: 101} },
		func(s *Session) { s.Takes[0].Air = &Air{TemperatureC: new(-273.0)} },
		func(s *Session) { s.Takes[1].ID = s.Takes[0].ID },
		func(s *Session) { s.Takes[0].ID = 0 },
		func(s *Session) { s.Takes[0].File = "../x.wav" },
		func(s *Session) { s.Takes[0].Reference = 0 },
		func(s *Session) { s.Songs = []Song{{Name: ""}} },
		func(s *Session) { s.Songs = []Song{{Name: "Mill tune", TempoBPM: 60, Voices: []string{"flute"}}} },
		func(s *Session) { s.Songs = []Song{{Name: "Mill tune", TempoBPM: 60, Importance: -1}} },
		func(s *Session) { s.Microphones = &Microphones{} },
		func(s *Session) {
			s.Microphones = &Microphones{RateHz: 48000, Channels: 2, Reference: 1, Voices: []Microphone{{Voice: s.Machine.Voices[0], Channel: 1}}}
		},
		func(s *Session) {
			v := s.Machine.Voices[0]
			s.Microphones = &Microphones{RateHz: 48000, Channels: 2, Reference: 1, Voices: []Microphone{{Voice: v, Channel: 2}, {Voice: v, Channel: 2}}}
		},
		func(s *Session) {
			s.Microphones = &Microphones{RateHz: 48000, Channels: 2, Reference: 1, Voices: []Microphone{{Voice: s.Machine.Voices[0], Channel: 3}}}
		},
	} {
		s := sample()
		spoil(&s)
		_, err := Create(filepath.Join(dir, "mill"), s)
		if err == nil {
			t.Fatal("a spoilt session was made")
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
		if err := os.MkdirAll(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, fileName), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	f, err := Open(dir)
	if err == nil {
		f.Close()
		t.Fatalf("%s was opened", dir)
	}
	return err.Error()
}

// A session is no worse for words that this Lagwright cannot tell again: the English
// stands beside them.
func TestWhatCannotBeToldAgain(t *testing.T) {
	for _, told := range []string{`[{"say":"%[1]d of 1 tempo tight","with":[1]}]`, `[{"say":"ahead","with":[true]}]`, `{"say":"ahead"}`, `true`} {
		data := bytes.ReplaceAll(own(t).data, []byte(`"text":`), []byte(`"told": `+told+`, "text":`))
		s, err := decode(data)
		if err != nil {
			t.Errorf("%s: %v", told, err)
			continue
		}
		if got, want := s.Takes[0].Heard[0].Reading.Warnings[0].Words(), sample().Takes[0].Heard[0].Reading.Warnings[0].Text; got != want {
			t.Errorf("%s: %q, want %q", told, got, want)
		}
	}
}
