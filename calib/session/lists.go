package session

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
func (s Session) ListsOf(id int) (names []string) {
	for _, l := range s.Lists {
		if slices.Contains(l.Songs, id) {
			names = append(names, l.Name)
		}
	}
	return names
}

// SetList returns the songs of the set list in hand, in playing order: all songs where
// none is.
func (s Session) SetList() []Song {
	l := s.list(s.InHand)
	if l == nil {
		return s.Songs
	}
	of := map[int]Song{}
	for _, song := range s.Songs {
		of[song.ID] = song
	}
	songs := make([]Song, len(l.Songs))
	for i, id := range l.Songs {
		songs[i] = of[id]
	}
	return songs
}

// list returns the set list of a name, to be changed in place; nil where there is none.
func (s Session) list(name string) *List {
	if i := slices.IndexFunc(s.Lists, func(l List) bool { return l.Name == name }); i >= 0 {
		return &s.Lists[i]
	}
	return nil
}

// put makes songs those of the list in hand. One that is new, but that the machine plays
// under that name at that tempo, is the machine's. Among all songs the tempo may then be
// another: it is that song, which stays in its set lists.
func (s *Session) put(songs []Song) {
	l := s.list(s.InHand)
	s.recognise(songs, func(new, one Song) bool { return new.Name == one.Name && new.TempoBPM == one.TempoBPM })
	if l == nil {
		s.recognise(songs, func(new, one Song) bool { return new.Name == one.Name })
	}
	giveIDs(songs, s.Songs)
	if l == nil {
		s.Songs = songs
		for i := range s.Lists {
			s.Lists[i].Songs = slices.DeleteFunc(s.Lists[i].Songs, func(id int) bool { return s.songOf(id) < 0 })
		}
	} else {
		l.Songs = nil
		for _, song := range songs {
			if at := s.songOf(song.ID); at >= 0 {
				s.Songs[at] = song
			} else {
				s.Songs = append(s.Songs, song)
			}
			l.Songs = append(l.Songs, song.ID)
		}
	}
}

// recognise makes new songs the machine's that they are the same as, unless that stands
// among songs already. What a song says itself of voices and importance holds.
func (s Session) recognise(songs []Song, same func(new, one Song) bool) {
	for i, song := range songs {
		at := slices.IndexFunc(s.Songs, func(one Song) bool {
			return song.ID == 0 && same(song, one) && !slices.ContainsFunc(songs, func(other Song) bool { return other.ID == one.ID })
		})
		if at >= 0 {
			one := s.Songs[at]
			songs[i].ID, songs[i].Importance = one.ID, cmp.Or(song.Importance, one.Importance)
			if song.Voices == nil {
				songs[i].Voices = one.Voices
			}
		}
	}
}

// songOf returns the index of the song with an id; -1 where there is none.
func (s Session) songOf(id int) int {
	return slices.IndexFunc(s.Songs, func(song Song) bool { return song.ID == id })
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
func (s *Session) KeepList(was, name string, songs []int) error {
	edited := clone(*s)
	giveIDs(edited.Songs, nil)
	if edited.list(was) == nil {
		begun := List{}
		if in := edited.list(s.InHand); in != nil {
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
	edited.InHand = l.Name
	if err := edited.validateSongs(); err != nil {
		return err
	}
	*s = edited
	return nil
}

// UseList takes the set list of a name in hand; all songs for an empty one.
func (s *Session) UseList(name string) error {
	if name != "" && s.list(name) == nil {
		if len(s.Lists) == 0 {
			return i18n.Errorf("there is no set list %q: the machine has none yet", name)
		}
		return i18n.Errorf("there is no set list %q: choose one of %s", name, strings.Join(s.ListNames(), ", "))
	}
	s.InHand = name
	return nil
}

// DropList removes the set list in hand. Its songs stay among all songs, which come in
// hand.
func (s *Session) DropList() {
	s.Lists = slices.DeleteFunc(slices.Clone(s.Lists), func(l List) bool { return l.Name == s.InHand })
	s.InHand = ""
}

// ListNames returns the names of the set lists.
func (s Session) ListNames() (names []string) {
	for _, l := range s.Lists {
		names = append(names, l.Name)
	}
	return names
}

func (s Session) validateLists(ids map[int]bool) error {
	for i, l := range s.Lists {
		if l.Name == "" || l.Name != strings.TrimSpace(l.Name) || s.list(l.Name) != &s.Lists[i] {
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
	return s.UseList(s.InHand)
}
