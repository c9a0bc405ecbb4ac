package machine

import (
	"cmp"
	"slices"
	"strings"

	"lagwright/calib/i18n"
)

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
	if i := slices.IndexFunc(m.Lists, func(l List) bool { return l.Name == name }); i >= 0 {
		return &m.Lists[i]
	}
	return nil
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
	edited := clone(*m)
	giveIDs(edited.Songs, nil)
	if edited.list(was) == nil {
		begun := List{}
		if in := edited.list(m.CurrentList); in != nil {
			begun = clone(*in)
		}
		begun.Name = was
		edited.Lists = append(edited.Lists, begun)
	}
	l := edited.list(was)
	var ids []int
	for _, at := range songs {
		ids = append(ids, edited.Songs[at].ID)
	}
	l.Songs = slices.DeleteFunc(l.Songs, func(id int) bool { return !slices.Contains(ids, id) })
	for _, id := range ids {
		if !slices.Contains(l.Songs, id) {
			l.Songs = append(l.Songs, id)
		}
	}
	l.Name = strings.TrimSpace(name)
	edited.CurrentList = l.Name
	if err := edited.validateSongs(); err != nil {
		return err
	}
	*m = edited
	return nil
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
				return i18n.Errorf("the set list %q names the song with id %d, which is none or stands in it twice: mend its ids", l.Name, id)
			}
			listed[id] = true
		}
	}
	return m.UseList(m.CurrentList)
}
