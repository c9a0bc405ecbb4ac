package session

import (
	"reflect"
	"slices"
	"testing"
)

// three is a machine of three songs without a set list.
func three() *Session {
	s := sample()
	s.Songs, s.Lists, s.InHand = list("a", "b", "c"), nil, ""
	return &s
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// A song stands in several set lists as one: what is changed of it in one is changed in
// all, and taken off a concert's it stays the machine's.
func TestSetLists(t *testing.T) {
	s := three()
	ok(t, s.KeepList("", "Quay", []int{2, 0}))
	ok(t, s.KeepList("", "Fair", []int{0, 1}))
	if got := order(s.SetList()); got != "a b" || s.InHand != "Fair" {
		t.Fatalf("in hand is %q with %q", s.InHand, got)
	}
	song := s.SetList()[0]
	song.TempoBPM = 111
	ok(t, s.EditSongs(ChangeSong(0, song), MoveSong(0, 1), AddSong(2, list("d")[0])))
	ok(t, s.UseList("Quay"))
	if got := s.SetList(); order(got) != "c a" || got[1].TempoBPM != 111 {
		t.Errorf("the other list is %q, a at %g BPM", order(got), got[1].TempoBPM)
	}
	ok(t, s.EditSongs(RemoveSong(0)))
	if got := order(s.Songs); got != "a b c d" {
		t.Errorf("the machine has %q", got)
	}
	ok(t, s.UseList(""))
	ok(t, s.EditSongs(RemoveSong(1), MoveSong(0, 2)))
	ok(t, s.UseList("Fair"))
	if got := order(s.SetList()); got != "a d" {
		t.Errorf("without b the list is %q", got)
	}
	ok(t, s.KeepList("Fair", " Fair, in May ", []int{0, 2, 1}))
	if got := order(s.SetList()); got != "a d c" || !slices.Equal(s.ListNames(), []string{"Quay", "Fair, in May"}) {
		t.Errorf("renamed, with all songs, it is %q; there are %q", got, s.ListNames())
	}
	s.DropList()
	if got := order(s.SetList()); got != "c d a" || !slices.Equal(s.ListNames(), []string{"Quay"}) {
		t.Errorf("without that list %q is in hand; there are %q", got, s.ListNames())
	}
	ok(t, s.validate())
}

// A song that comes from elsewhere is the machine's where that plays it at that tempo.
func TestReplaceKeepsTheMachinesSongs(t *testing.T) {
	s := three()
	ok(t, s.KeepList("", "Quay", []int{0, 1, 2}))
	s.Songs[1].Voices, s.Songs[1].Importance = []string{"drum"}, 3
	known, other := list("b")[0], list("b")[0]
	known.Importance, other.TempoBPM = 2, 99
	ok(t, s.EditSongs(ReplaceSongs([]Song{known, other, known})))
	got := s.SetList()
	if len(s.Songs) != 5 || got[0].ID != s.Songs[1].ID || got[0].Importance != 2 || !slices.Equal(got[0].Voices, []string{"drum"}) ||
		got[1].ID == got[0].ID || got[1].TempoBPM != 99 || got[2].ID == got[0].ID {
		t.Errorf("the list is %+v, all songs %+v", got, s.Songs)
	}
	ok(t, s.UseList(""))
	ok(t, s.EditSongs(ReplaceSongs([]Song{other})))
	ok(t, s.UseList("Quay"))
	if got := s.SetList(); len(got) != 1 || got[0].TempoBPM != 99 {
		t.Errorf("of other songs the list keeps %+v", got)
	}

	// Among all songs one whose tempo is another stays that song, once those have theirs
	// whose tempo is the same; what the file leaves out of it the machine still knows.
	s = three()
	ok(t, s.KeepList("", "Quay", []int{2, 1}))
	s.Songs[1].Name, s.Songs[1].TempoBPM, s.Songs[1].Importance = "a", 77, 3
	other = list("a")[0]
	other.TempoBPM = 99
	ok(t, s.UseList(""))
	ok(t, s.EditSongs(ReplaceSongs([]Song{other, list("a")[0], list("c")[0]})))
	ok(t, s.UseList("Quay"))
	if got := s.SetList(); order(got) != "c a" || got[1].TempoBPM != 99 || got[1].Importance != 3 {
		t.Errorf("at other tempos the list is %+v", got)
	}
}

// A song that came in while all songs were in hand is known where it is brought again.
func TestSongsOfAllAreKnown(t *testing.T) {
	s := three()
	ok(t, s.KeepList("", "Quay", []int{0}))
	ok(t, s.UseList(""))
	ok(t, s.EditSongs(AddSong(3, list("d")[0])))
	ok(t, s.UseList("Quay"))
	ok(t, s.EditSongs(AddSong(1, list("d")[0])))
	if got := order(s.Songs); got != "a b c d" {
		t.Errorf("the machine plays %q", got)
	}
}

// A new list begins in the order of the one in hand.
func TestCopyOfAList(t *testing.T) {
	s := three()
	ok(t, s.KeepList("", "Quay", []int{2, 0}))
	ok(t, s.KeepList("", "Fair", []int{0, 1, 2}))
	if got := order(s.SetList()); got != "c a b" || len(s.list("Quay").Songs) != 2 {
		t.Errorf("a copy plays %q, of %+v", got, s.Lists)
	}
}

func TestListsThatCannotBe(t *testing.T) {
	s := three()
	ok(t, s.KeepList("", "Quay", []int{0}))
	before := clone(*s)
	wantSentence(t, s.KeepList("", "  ", []int{1}), "give each a name")
	wantSentence(t, s.KeepList("", "Quay ", []int{1}), `called "Quay"`)
	wantSentence(t, s.UseList("Fair"), `no set list "Fair"`, "Quay")
	if !reflect.DeepEqual(*s, before) {
		t.Errorf("what cannot be changed %+v", s.Lists)
	}
	for says, spoil := range map[string]func(*Session){
		"id 9":               func(s *Session) { s.Lists[0].Songs[0] = 9 },
		"id 1":               func(s *Session) { s.Lists[0].Songs = []int{1, 1} },
		"id is 1":            func(s *Session) { s.Songs[1].ID = 1 },
		"id is -1":           func(s *Session) { s.Songs[1].ID = -1 },
		"id is 1073741825":   func(s *Session) { s.Songs[1].ID = mostID + 1 },
		`called "Quay "`:     func(s *Session) { s.Lists[0].Name = "Quay " },
		`is called ""`:       func(s *Session) { s.Lists[0].Name = "" },
		`no set list "Fair"`: func(s *Session) { s.InHand = "Fair" },
	} {
		bad := clone(before)
		spoil(&bad)
		wantSentence(t, bad.validate(), says)
	}
}
