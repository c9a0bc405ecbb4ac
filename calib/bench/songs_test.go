package bench_test

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/session"
)

var evening = []session.Song{
	{Name: "Mill Waltz", TempoBPM: 72, Voices: []string{"tub drum"}},
	{Name: "Weir Reel", TempoBPM: 132.5, Voices: []string{"tub drum"}, Importance: 2},
	{Name: "Low Water", TempoBPM: 96, Voices: []string{"tub drum"}},
}

func TestUndoAndRedoOfTheSetList(t *testing.T) {
	b := open(t, 6, 84)
	playOne(t, b) // undo of the set list leaves takes alone
	hit := firstUsed(last(b).Reading)
	ok(t, b.Edit(1, session.StrikeOut(session.VoiceChannel, hit.VoiceS)))
	take := last(b)
	faster := evening[0]
	faster.TempoBPM = 80
	lists := [][]session.Song{b.Session().Songs}
	for _, e := range [][]session.SongEdit{
		{session.AddSong(0, evening[0]), session.AddSong(1, evening[1])},
		{session.ChangeSong(0, faster)},
		{session.MoveSong(0, 1)},
		{session.RemoveSong(0)},
		{session.ReplaceSongs(evening)},
	} {
		ok(t, b.EditSongs(e...))
		lists = append(lists, b.Session().Songs)
	}
	check := func(i int) {
		t.Helper()
		if got := b.Session().Songs; !reflect.DeepEqual(got, lists[i]) {
			t.Errorf("state %d is %+v, want %+v", i, got, lists[i])
		}
		if b.CanUndo(bench.SetList) != (i > 0) || b.CanRedo(bench.SetList) != (i < len(lists)-1) {
			t.Errorf("state %d: undo %v, redo %v", i, b.CanUndo(bench.SetList), b.CanRedo(bench.SetList))
		}
	}
	for i := len(lists) - 1; i > 0; i-- {
		check(i)
		ok(t, b.Undo(bench.SetList))
	}
	check(0)
	ok(t, b.Undo(bench.SetList)) // nothing is left to undo
	for i := range lists[1:] {
		check(i)
		ok(t, b.Redo(bench.SetList))
	}
	check(len(lists) - 1)
	ok(t, b.Undo(bench.SetList))
	ok(t, b.EditSongs(session.RemoveSong(0)))
	if ok(t, b.Redo(bench.SetList)); b.CanRedo(bench.SetList) || len(b.Session().Songs) != 0 {
		t.Error("what was undone can be made again after another change")
	}
	if !reflect.DeepEqual(last(b), take) || !b.CanUndo(1) {
		t.Error("changes of the set list reached a take")
	}
}

// A change that is refused changes nothing, nor what can be undone.
func TestRefusedSongs(t *testing.T) {
	b := open(t, 6, 84)
	ok(t, b.EditSongs(session.ReplaceSongs(evening)))
	ok(t, b.Undo(bench.SetList))
	err := b.EditSongs(session.AddSong(0, evening[0]), session.AddSong(0, session.Song{Name: "x", TempoBPM: 90, Voices: []string{"bell"}}))
	if err == nil || !strings.Contains(err.Error(), "bell") {
		t.Errorf("a voice that is not there says %v", err)
	}
	if len(b.Session().Songs) != 0 || b.CanUndo(bench.SetList) || !b.CanRedo(bench.SetList) {
		t.Error("a refused change left something behind")
	}
}

func TestSetListGoesOutAndComesBack(t *testing.T) {
	b := open(t, 6, 84)
	ok(t, b.EditSongs(session.ReplaceSongs(evening)))
	path := filepath.Join(t.TempDir(), "songs.csv")
	ok(t, b.ExportSongs(path))
	ok(t, b.EditSongs(session.ReplaceSongs(nil)))
	ok(t, b.ImportSongs(path))
	if got := b.Session().Songs; !reflect.DeepEqual(got, evening) {
		t.Errorf("came back as %+v", got)
	}
	ok(t, b.Undo(bench.SetList))
	if got := b.Session().Songs; len(got) != 0 {
		t.Errorf("import undone: %+v", got)
	}
	ok(t, os.WriteFile(path, []byte("song,tempo_bpm\nMill Waltz,72\nWeir Reel,fast\n"), 0o600))
	if err := b.ImportSongs(path); err == nil || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "line 3") {
		t.Errorf("a bad row says %v", err)
	}
	if err := b.ImportSongs(path + "x"); err == nil || !strings.Contains(err.Error(), path+"x") {
		t.Errorf("a missing file says %v", err)
	}
	if err := b.ExportSongs(filepath.Join(path, "songs.csv")); err == nil || !strings.Contains(err.Error(), path) {
		t.Errorf("a place that cannot be written says %v", err)
	}
	if len(b.Session().Songs) != 0 || b.CanUndo(bench.SetList) != true {
		t.Error("a refused import left something behind")
	}
}
