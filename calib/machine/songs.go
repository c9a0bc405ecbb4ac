package machine

import (
	"cmp"
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
	return m.changeSongs(func(m *Machine) (err error) {
		songs := clone(m.SetList())
		for _, e := range edits {
			if songs, err = e(songs); err != nil {
				return err
			}
		}
		for i := range songs {
			songs[i] = songs[i].tidy()
		}
		m.put(songs)
		return nil
	})
}

// changeSongs changes songs, all of which have an id, and set lists; or nothing, and says why.
func (m *Machine) changeSongs(change func(*Machine) error) error {
	changed := *m
	changed.Songs, changed.Lists = clone(m.Songs), clone(m.Lists)
	giveIDs(changed.Songs, nil)
	err := change(&changed)
	if err == nil {
		err = changed.validateSongs()
	}
	if err == nil {
		*m = changed
	}
	return err
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

// List is a set list: songs of the machine in the order of a concert.
type List struct {
	Name  string `json:"name"`
	Songs []int  `json:"songs"` // their ids, each once
}

// ListsOf names the set lists in which the song with an id stands.
func (m Machine) ListsOf(id int) (names []string) {
	for _, l := range m.Lists {
		if slices.Contains(l.Songs, id) {
			names = append(names, l.Name)
		}
	}
	return names
}

// SongsBPM returns the tempos of the set list in hand.
func (m Machine) SongsBPM() (tempos []float64) {
	for _, song := range m.SetList() {
		tempos = append(tempos, song.TempoBPM)
	}
	return tempos
}

// SetList returns the songs of the set list in hand, in playing order: all songs where
// none is.
func (m Machine) SetList() []Song {
	l := m.list(m.CurrentList)
	if l == nil {
		return m.Songs
	}
	of := map[int]Song{}
	for _, song := range m.Songs {
		of[song.ID] = song
	}
	songs := make([]Song, len(l.Songs))
	for i, id := range l.Songs {
		songs[i] = of[id]
	}
	return songs
}

// list returns the set list of a name, to be changed in place; nil where there is none.
func (m Machine) list(name string) *List {
	return firstOf(m.Lists, func(l List) bool { return l.Name == name })
}

// put makes songs those of the list in hand. One that is new, but that the machine plays
// under that name at that tempo, is the machine's. Among all songs the tempo may then be
// another: it is that song, which stays in its set lists.
func (m *Machine) put(songs []Song) {
	l := m.list(m.CurrentList)
	m.recognise(songs, func(new, one Song) bool { return new.Name == one.Name && new.TempoBPM == one.TempoBPM })
	if l == nil {
		m.recognise(songs, func(new, one Song) bool { return new.Name == one.Name })
	}
	giveIDs(songs, m.Songs)
	if l == nil {
		m.Songs = songs
		for i := range m.Lists {
			m.Lists[i].Songs = slices.DeleteFunc(m.Lists[i].Songs, func(id int) bool { return m.songOf(id) < 0 })
		}
	} else {
		l.Songs = nil
		for _, song := range songs {
			if at := m.songOf(song.ID); at >= 0 {
				m.Songs[at] = song
			} else {
				m.Songs = append(m.Songs, song)
			}
			l.Songs = append(l.Songs, song.ID)
		}
	}
}

// recognise makes new songs the machine's that they are the same as, unless that stands
// among songs already. What a song says itself of voices and importance holds.
func (m Machine) recognise(songs []Song, same func(new, one Song) bool) {
	for i, song := range songs {
		at := slices.IndexFunc(m.Songs, func(one Song) bool {
			return song.ID == 0 && same(song, one) && !slices.ContainsFunc(songs, func(other Song) bool { return other.ID == one.ID })
		})
		if at >= 0 {
			one := m.Songs[at]
			songs[i].ID, songs[i].Importance = one.ID, cmp.Or(song.Importance, one.Importance)
			if song.Voices == nil {
				songs[i].Voices = one.Voices
			}
		}
	}
}

// songOf returns the index of the song with an id; -1 where there is none.
func (m Machine) songOf(id int) int {
	return slices.IndexFunc(m.Songs, func(song Song) bool { return song.ID == id })
}

// giveIDs gives each song without an id one that no other has, of others neither.
func giveIDs(songs, others []Song) {
	last := 0
	for _, song := range slices.Concat(songs, others) {
		last = max(last, song.ID)
	}
	for i := range songs {
		if songs[i].ID == 0 {
			last++
			songs[i].ID = last
		}
	}
}

// KeepList makes a set list of the songs at some indices of Songs, or changes the one
// called was to them, and takes it in hand. Songs that it had, or that the list in hand
// has where it is new, keep their order; others come after them.
func (m *Machine) KeepList(was, name string, songs []int) error {
	return m.changeSongs(func(m *Machine) error {
		if m.list(was) == nil {
			begun := List{}
			if in := m.list(m.CurrentList); in != nil {
				begun = clone(*in)
			}
			begun.Name = was
			m.Lists = append(m.Lists, begun)
		}
		l := m.list(was)
		var ids []int
		for _, at := range songs {
			ids = append(ids, m.Songs[at].ID)
		}
		l.Songs = slices.DeleteFunc(l.Songs, func(id int) bool { return !slices.Contains(ids, id) })
		for _, id := range ids {
			if !slices.Contains(l.Songs, id) {
				l.Songs = append(l.Songs, id)
			}
		}
		l.Name = strings.TrimSpace(name)
		m.CurrentList = l.Name
		return nil
	})
}

// UseList takes the set list of a name in hand; all songs for an empty one.
func (m *Machine) UseList(name string) error {
	if name != "" && m.list(name) == nil {
		if len(m.Lists) == 0 {
			return i18n.Errorf("there is no set list %q: the machine has none yet", name)
		}
		return i18n.Errorf("there is no set list %q: choose one of %s", name, strings.Join(m.ListNames(), ", "))
	}
	m.CurrentList = name
	return nil
}

// DropList removes the set list in hand. Its songs stay among all songs, which come in
// hand.
func (m *Machine) DropList() {
	m.Lists = slices.DeleteFunc(slices.Clone(m.Lists), func(l List) bool { return l.Name == m.CurrentList })
	m.CurrentList = ""
}

// ListNames returns the names of the set lists.
func (m Machine) ListNames() (names []string) {
	for _, l := range m.Lists {
		names = append(names, l.Name)
	}
	return names
}

func (m Machine) validateLists(ids map[int]bool) error {
	for i, l := range m.Lists {
		if l.Name == "" || l.Name != strings.TrimSpace(l.Name) || m.list(l.Name) != &m.Lists[i] {
			return i18n.Errorf("set list %d is called %q: give each a name of its own", i+1, l.Name)
		}
		listed := map[int]bool{}
		for _, id := range l.Songs {
			if !ids[id] || listed[id] {
				return i18n.Errorf("the set list %q names the song with id %d, which does not exist or stands in it twice: correct the ids", l.Name, id)
			}
			listed[id] = true
		}
	}
	return m.UseList(m.CurrentList)
}
