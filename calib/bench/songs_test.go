package bench_test

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib/session"
)

var evening = []session.Song{
	{Name: "Mill Waltz", TempoBPM: 72, Voices: []string{"tub drum"}},
	{Name: "Weir Reel", TempoBPM: 132.5, Voices: []string{"tub drum"}, Importance: 2},
	{Name: "Low Water", TempoBPM: 96, Voices: []string{"tub drum"}},
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
	_, err := b.Undo()
	ok(t, err)
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
	if _, redo := b.Undoable(); len(b.Session().Songs) != 0 || redo == "" {
		t.Error("a refused import left something behind")
	}
}
