package machine

import (
	"math"
	"reflect"
	"strings"
	"testing"
)

func list(names ...string) []Song {
	var songs []Song
	for _, n := range names {
		songs = append(songs, Song{Name: n, TempoBPM: 100})
	}
	return songs
}

func order(songs []Song) string {
	var names []string
	for _, s := range songs {
		names = append(names, s.Name)
	}
	return strings.Join(names, " ")
}

func TestEditSongs(t *testing.T) {
	cases := []struct {
		want  string
		edits []SongEdit
	}{
		{"x a b c", []SongEdit{AddSong(0, list("x")[0])}},
		{"a b c x", []SongEdit{AddSong(3, list("x")[0])}},
		{"a x y c", []SongEdit{ChangeSong(1, list(" x\n y ")[0])}},
		{"a c", []SongEdit{RemoveSong(1)}},
		{"b c a", []SongEdit{MoveSong(0, 2)}},
		{"c a b", []SongEdit{MoveSong(2, -9)}},
		{"a c b", []SongEdit{MoveSong(1, 1)}},
		{"b a", []SongEdit{RemoveSong(2), MoveSong(1, -1)}},
		{"q", []SongEdit{ReplaceSongs(list("q"))}},
		{"", []SongEdit{ReplaceSongs(nil)}},
	}
	for _, c := range cases {
		m := sample()
		m.Songs, m.Lists, m.CurrentList = list("a", "b", "c"), nil, ""
		before := clone(m.Songs)
		old := m.Songs
		if err := m.EditSongs(c.edits...); err != nil || order(m.Songs) != c.want {
			t.Errorf("got %q, %v, want %q", order(m.Songs), err, c.want)
		}
		if !reflect.DeepEqual(old, before) {
			t.Errorf("%q: the list before was changed to %q", c.want, order(old))
		}
	}
}

func TestEditSongsIsAllOrNothing(t *testing.T) {
	good := list("x")[0]
	bad := func(change func(*Song)) SongEdit {
		song := good
		change(&song)
		return AddSong(0, song)
	}
	cases := []struct {
		says string
		edit SongEdit
	}{
		{"no song 4", RemoveSong(3)},
		{"no song 0", MoveSong(-1, 1)},
		{"no song 9", ChangeSong(8, good)},
		{"place 5 of 3", AddSong(4, good)},
		{"no name", bad(func(s *Song) { s.Name = " \t" })},
		{"401 BPM", bad(func(s *Song) { s.TempoBPM = 401 })},
		{"NaN BPM", bad(func(s *Song) { s.TempoBPM = math.NaN() })},
		{"no voice \"bell\"", bad(func(s *Song) { s.Voices = []string{"drum", "bell"} })},
		{"twice", bad(func(s *Song) { s.Voices = []string{"drum", "drum"} })},
		{"importance is -1", bad(func(s *Song) { s.Importance = -1 })},
		{"importance is +Inf", bad(func(s *Song) { s.Importance = math.Inf(1) })},
	}
	for _, c := range cases {
		f := create(t, sample())
		err := f.Update(func(m *Machine) error { return m.EditSongs(RemoveSong(0), AddSong(0, good), AddSong(0, good), c.edit) })
		wantSentence(t, err, c.says)
		if !reflect.DeepEqual(f.Machine(), sample()) {
			t.Errorf("%s: the machine was changed", c.says)
		}
		alone := sample() // without a folder that puts it back
		wantSentence(t, alone.EditSongs(RemoveSong(0), AddSong(0, good), AddSong(0, good), c.edit), c.says)
		if !reflect.DeepEqual(alone, sample()) {
			t.Errorf("%s: the set list was changed", c.says)
		}
		err = f.Update(func(m *Machine) error { m.Songs[1].TempoBPM = 0; return nil })
		wantSentence(t, err, "the song \"Weir; slow\"", "0 BPM")
	}
}
