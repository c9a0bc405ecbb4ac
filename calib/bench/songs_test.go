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

func TestSetListGoesOut(t *testing.T) {
	b := open(t, 6, 84)
	ok(t, b.EditSongs(session.ReplaceSongs(evening)))
	path := filepath.Join(t.TempDir(), "songs.csv")
	ok(t, b.ExportSongs(path))
	f, err := os.Open(path)
	ok(t, err)
	defer f.Close()
	read, err := session.ReadSongs(f, b.Session().Machine.Voices)
	if ok(t, err); !reflect.DeepEqual(read.Songs, evening) {
		t.Errorf("came back as %+v", read)
	}
	if err := b.ExportSongs(filepath.Join(path, "songs.csv")); err == nil || !strings.Contains(err.Error(), path) {
		t.Errorf("a place that cannot be written says %v", err)
	}
}
