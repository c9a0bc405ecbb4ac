package machine

import (
	"reflect"
	"slices"
	"testing"
)

// three is a machine of three songs without a set list.
func three() *Machine {
	m := sample()
	m.Songs, m.Lists, m.CurrentList = list("a", "b", "c"), nil, ""
	return &m
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
	m := three()
	ok(t, m.KeepList("", "Quay", []int{2, 0}))
	ok(t, m.KeepList("", "Fair", []int{0, 1}))
	if got := order(m.SetList()); got != "a b" || m.CurrentList != "Fair" {
		t.Fatalf("in hand is %q with %q", m.CurrentList, got)
	}
	song := m.SetList()[0]
	song.TempoBPM = 111
	ok(t, m.EditSongs(ChangeSong(0, song), MoveSong(0, 1), AddSong(2, list("d")[0])))
	ok(t, m.UseList("Quay"))
	if got := m.SetList(); order(got) != "c a" || got[1].TempoBPM != 111 {
		t.Errorf("the other list is %q, a at %g BPM", order(got), got[1].TempoBPM)
	}
	ok(t, m.EditSongs(RemoveSong(0)))
	if got := order(m.Songs); got != "a b c d" {
		t.Errorf("the machine has %q", got)
	}
	ok(t, m.UseList(""))
	ok(t, m.EditSongs(RemoveSong(1), MoveSong(0, 2)))
	ok(t, m.UseList("Fair"))
	if got := order(m.SetList()); got != "a d" {
		t.Errorf("without b the list is %q", got)
	}
	ok(t, m.KeepList("Fair", " Fair, in May ", []int{0, 2, 1}))
	if got := order(m.SetList()); got != "a d c" || !slices.Equal(m.ListNames(), []string{"Quay", "Fair, in May"}) {
		t.Errorf("renamed, with all songs, it is %q; there are %q", got, m.ListNames())
	}
	m.DropList()
	if got := order(m.SetList()); got != "c d a" || !slices.Equal(m.ListNames(), []string{"Quay"}) {
		t.Errorf("without that list %q is in hand; there are %q", got, m.ListNames())
	}
	ok(t, m.validate())
}

// A song that comes from elsewhere is the machine's where that plays it at that tempo.
func TestReplaceKeepsTheMachinesSongs(t *testing.T) {
	m := three()
	ok(t, m.KeepList("", "Quay", []int{0, 1, 2}))
	m.Songs[1].Voices, m.Songs[1].Importance = []string{"drum"}, 3
	known, other := list("b")[0], list("b")[0]
	known.Importance, other.TempoBPM = 2, 99
	ok(t, m.EditSongs(ReplaceSongs([]Song{known, other, known})))
	got := m.SetList()
	if len(m.Songs) != 5 || got[0].ID != m.Songs[1].ID || got[0].Importance != 2 || !slices.Equal(got[0].Voices, []string{"drum"}) ||
		got[1].ID == got[0].ID || got[1].TempoBPM != 99 || got[2].ID == got[0].ID {
		t.Errorf("the list is %+v, all songs %+v", got, m.Songs)
	}
	ok(t, m.UseList(""))
	ok(t, m.EditSongs(ReplaceSongs([]Song{other})))
	ok(t, m.UseList("Quay"))
	if got := m.SetList(); len(got) != 1 || got[0].TempoBPM != 99 {
		t.Errorf("of other songs the list keeps %+v", got)
	}

	// Among all songs one whose tempo is another stays that song, once those have theirs
	// whose tempo is the same; what the file leaves out of it the machine still knows.
	m = three()
	ok(t, m.KeepList("", "Quay", []int{2, 1}))
	m.Songs[1].Name, m.Songs[1].TempoBPM, m.Songs[1].Importance = "a", 77, 3
	other = list("a")[0]
	other.TempoBPM = 99
	ok(t, m.UseList(""))
	ok(t, m.EditSongs(ReplaceSongs([]Song{other, list("a")[0], list("c")[0]})))
	ok(t, m.UseList("Quay"))
	if got := m.SetList(); order(got) != "c a" || got[1].TempoBPM != 99 || got[1].Importance != 3 {
		t.Errorf("at other tempos the list is %+v", got)
	}
}

// A song that came in while all songs were in hand is known where it is brought again.
func TestSongsOfAllAreKnown(t *testing.T) {
	m := three()
	ok(t, m.KeepList("", "Quay", []int{0}))
	ok(t, m.UseList(""))
	ok(t, m.EditSongs(AddSong(3, list("d")[0])))
	ok(t, m.UseList("Quay"))
	ok(t, m.EditSongs(AddSong(1, list("d")[0])))
	if got := order(m.Songs); got != "a b c d" {
		t.Errorf("the machine plays %q", got)
	}
}

// A new list begins in the order of the one in hand.
func TestCopyOfAList(t *testing.T) {
	m := three()
	ok(t, m.KeepList("", "Quay", []int{2, 0}))
	ok(t, m.KeepList("", "Fair", []int{0, 1, 2}))
	if got := order(m.SetList()); got != "c a b" || len(m.list("Quay").Songs) != 2 {
		t.Errorf("a copy plays %q, of %+v", got, m.Lists)
	}
}

func TestListsThatCannotBe(t *testing.T) {
	m := three()
	ok(t, m.KeepList("", "Quay", []int{0}))
	before := clone(*m)
	wantSentence(t, m.KeepList("", "  ", []int{1}), "give each a name")
	wantSentence(t, m.KeepList("", "Quay ", []int{1}), `called "Quay"`)
	wantSentence(t, m.UseList("Fair"), `no set list "Fair"`, "Quay")
	if !reflect.DeepEqual(*m, before) {
		t.Errorf("what cannot be changed %+v", m.Lists)
	}
	for says, spoil := range map[string]func(*Machine){
		"id 9":               func(m *Machine) { m.Lists[0].Songs[0] = 9 },
		"id 1":               func(m *Machine) { m.Lists[0].Songs = []int{1, 1} },
		"id is 1":            func(m *Machine) { m.Songs[1].ID = 1 },
		"id is -1":           func(m *Machine) { m.Songs[1].ID = -1 },
		"id is 1073741825":   func(m *Machine) { m.Songs[1].ID = mostID + 1 },
		`called "Quay "`:     func(m *Machine) { m.Lists[0].Name = "Quay " },
		`is called ""`:       func(m *Machine) { m.Lists[0].Name = "" },
		`no set list "Fair"`: func(m *Machine) { m.CurrentList = "Fair" },
	} {
		bad := clone(before)
		spoil(&bad)
		wantSentence(t, bad.validate(), says)
	}
}
