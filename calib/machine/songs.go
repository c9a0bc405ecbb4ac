package machine

import (
	"slices"
	"strings"
	"unicode"

	"lagwright/calib/i18n"
)

// Song is one that the machine plays.
type Song struct {
	ID         int      `json:"id,omitzero"` // by which set lists name it; 0 until songs are changed first
	Name       string   `json:"name"`
	TempoBPM   float64  `json:"tempo_bpm"`
	Voices     []string `json:"voices"`     // those it uses; none = all
	Importance float64  `json:"importance"` // against the other songs; 0 = 1
}

// mostID is the largest id that a song can have.
const mostID = 1 << 30

// MostImportance is the largest importance that a song can have.
const MostImportance = 100

// SongEdit is one change of the songs of the set list in hand. The list it is given is
// its own to change.
type SongEdit func([]Song) ([]Song, error)

// EditSongs changes the set list in hand by all edits, or by none and says why. A song
// that is taken off stays among all songs, unless it is taken off those.
func (m *Machine) EditSongs(edits ...SongEdit) error {
	edited := clone(*m)
	giveIDs(edited.Songs, nil)
	songs := clone(edited.SetList())
	for _, e := range edits {
		var err error
		if songs, err = e(songs); err != nil {
			return err
		}
	}
	for i := range songs {
		songs[i] = songs[i].tidy()
	}
	edited.put(songs)
	if err := edited.validateSongs(); err != nil {
		return err
	}
	*m = edited
	return nil
}

// AddSong returns the edit that puts a song before the one at index at, counted
// from 0 in playing order; at the length of the list it comes last.
func AddSong(at int, song Song) SongEdit {
	return func(songs []Song) ([]Song, error) {
		if at < 0 || at > len(songs) {
			return nil, i18n.Errorf("a song cannot come in at place %d of %d: choose one of them, or the end", at+1, len(songs))
		}
		return slices.Insert(songs, at, song), nil
	}
}

// ChangeSong returns the edit that makes another of the song at index i.
func ChangeSong(i int, song Song) SongEdit {
	return onSong(i, func(songs []Song) []Song {
		song.ID = songs[i].ID
		songs[i] = song
		return songs
	})
}

// RemoveSong returns the edit that takes the song at index i off the list.
func RemoveSong(i int) SongEdit {
	return onSong(i, func(songs []Song) []Song { return slices.Delete(songs, i, i+1) })
}

// MoveSong returns the edit that plays the song at index i so many places later,
// or earlier where by is negative. At either end of the list it stays.
func MoveSong(i, by int) SongEdit {
	return onSong(i, func(songs []Song) []Song {
		song := songs[i]
		to := max(0, min(i+by, len(songs)-1))
		return slices.Insert(slices.Delete(songs, i, i+1), to, song)
	})
}

// ReplaceSongs returns the edit after which the set list is another.
func ReplaceSongs(list []Song) SongEdit {
	return func([]Song) ([]Song, error) { return clone(list), nil }
}

// onSong is an edit of a song that has to be there.
func onSong(i int, change func([]Song) []Song) SongEdit {
	return func(songs []Song) ([]Song, error) {
		if i < 0 || i >= len(songs) {
			return nil, i18n.Errorf("the set list has no song %d: choose one of its %d", i+1, len(songs))
		}
		return change(songs), nil
	}
}

// tidy returns the song with its name on one line and without needless space.
func (s Song) tidy() Song {
	s.Name = strings.Join(strings.FieldsFunc(s.Name, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) }), " ")
	return s
}

func (m Machine) validateSongs() error {
	ids := map[int]bool{}
	for _, song := range m.Songs {
		err := song.validate(m.Build.Voices)
		if err == nil && (song.ID < 0 || song.ID > mostID || ids[song.ID]) {
			err = i18n.Errorf("its id is %d, which is below zero, above %d or another song's: give each its own", song.ID, mostID)
		}
		if err != nil {
			return i18n.Errorf("the song %q: %w", song.Name, err)
		}
		ids[song.ID] = song.ID > 0
	}
	return m.validateLists(ids)
}

// validate returns a sentence about the first thing in the song that cannot be
// right on a machine with the given voices.
func (s Song) validate(voices []string) error {
	if s.tidy().Name == "" {
		return i18n.Errorf("it has no name: give it one")
	}
	if err := (Target{TempoBPM: s.TempoBPM}).validate(); err != nil {
		return err
	}
	for i, v := range s.Voices {
		if !slices.Contains(voices, v) {
			return i18n.Errorf("the machine has no voice %q: choose from %s, with semicolons between several", v, strings.Join(voices, ", "))
		}
		if slices.Contains(s.Voices[:i], v) {
			return i18n.Errorf("it names the voice %q twice: once is enough", v)
		}
	}
	if !(s.Importance >= 0 && s.Importance <= MostImportance) {
		return i18n.Errorf("its importance is %g: it must be 0 to %d (0 = 1, as any other)", s.Importance, MostImportance)
	}
	return nil
}
