package session

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"lagwright/calib"
)

// A tempo is tight once every voice that was asked for there has a setting.
func TestTempos(t *testing.T) {
	take := func(voice string, bpm float64, o calib.Outcome) Take {
		return Take{Target: Target{TempoBPM: bpm, Voice: voice}, Advice: calib.Advice{Outcome: o}}
	}
	out := take("drum", 150, calib.Converged)
	out.LeftOut = true
	cases := map[string]struct {
		songs      []Song
		takes      []Take
		tight, all int
	}{
		"new":                  {},
		"one open":             {takes: []Take{take("drum", 84, calib.Move)}, all: 1},
		"one tight":            {takes: []Take{take("drum", 84, calib.Move), take("drum", 84, calib.Converged)}, tight: 1, all: 1},
		"lost again":           {takes: []Take{take("drum", 84, calib.Converged), take("drum", 84, calib.Move)}, all: 1},
		"another voice open":   {takes: []Take{take("drum", 84, calib.Converged), take("bar", 84, calib.Move)}, all: 1},
		"both voices":          {takes: []Take{take("drum", 84, calib.Converged), take("bar", 84, calib.Converged)}, tight: 1, all: 1},
		"left out":             {takes: []Take{out}},
		"songs without a take": {songs: []Song{{TempoBPM: 72}, {TempoBPM: 96}, {TempoBPM: 96, Voices: []string{"bar"}}}, all: 2},
		"a song for the drum":  {songs: []Song{{TempoBPM: 84, Voices: []string{"drum"}}, {TempoBPM: 96}}, takes: []Take{take("drum", 84, calib.Converged)}, tight: 1, all: 2},
		"a song for all":       {songs: []Song{{TempoBPM: 84}}, takes: []Take{take("drum", 84, calib.Converged)}, all: 1},
	}
	for name, c := range cases {
		s := Session{Machine: Machine{Voices: []string{"drum", "bar"}}, Songs: c.songs, Takes: c.takes}
		if tight, all := s.Tempos(); tight != c.tight || all != c.all {
			t.Errorf("%s: %d of %d, want %d of %d", name, tight, all, c.tight, c.all)
		}
	}
}

func TestSummary(t *testing.T) {
	s := sample()
	if got := s.LastTake(); !got.Equal(s.Takes[1].At) {
		t.Errorf("last take %v", got)
	}
	if got := (Session{}).LastTake(); !got.IsZero() {
		t.Errorf("without takes: %v", got)
	}
	s.Target.Song = "Third"
	if got := s.SongNames(); !reflect.DeepEqual(got, []string{"Mill Waltz", "Weir; slow", "Third"}) {
		t.Errorf("songs %q", got)
	}
}

func TestStampTellsSavesApart(t *testing.T) {
	f := create(t, sample())
	before := StampOf(f.Dir())
	if before == (Stamp{}) || StampOf(f.Dir()) != before {
		t.Error("the stamp of a save changes by itself")
	}
	if err := f.Update(named("Another")); err != nil {
		t.Fatal(err)
	}
	later := time.Now().Add(time.Second)
	if err := os.Chtimes(filepath.Join(f.Dir(), fileName), later, later); err != nil {
		t.Fatal(err)
	}
	if StampOf(f.Dir()) == before || StampOf(t.TempDir()) != (Stamp{}) {
		t.Error("another save has the same stamp, or none has one")
	}
}
