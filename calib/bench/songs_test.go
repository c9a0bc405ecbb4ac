package bench_test

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

var evening = []machine.Song{
	{Name: "Mill Waltz", TempoBPM: 72, Voices: []string{"tub drum"}},
	{Name: "Weir Reel", TempoBPM: 132.5, Voices: []string{"tub drum"}, Importance: 2},
	{Name: "Low Water", TempoBPM: 96, Voices: []string{"tub drum"}},
}

// A sweep that a move comes before is what the next take is once the move is told: in the
// set list, at the top, and where the simulated machine plays it.
func TestSweepAfterItsMove(t *testing.T) {
	b := open(t, 1, 84)
	playOne(t, b)
	playOne(t, b)
	ok(t, b.EditSongs(machine.ReplaceSongs([]machine.Song{
		{Name: "Weir Reel", TempoBPM: 126, Voices: []string{"tub drum"}}, {Name: "Low Water", TempoBPM: 66}, {Name: "Mill Waltz", TempoBPM: 84}})))
	ok(t, b.HearAll(true))
	asked := *b.View().Next
	ok(t, b.Aim(asked.Target))
	if at := b.View(); asked.ToBPM == 0 || at.Stage != loop.AwaitMove || at.Steps != asked.Move {
		t.Fatalf("asked for %+v, the top: %s", asked, at.Do)
	}
	ok(t, b.Moved(asked.Move, ""))
	at := b.View()
	if want := (loop.Tempos{FromBPM: asked.Target.TempoBPM, ToBPM: asked.ToBPM}); at.Stage != loop.AwaitTake || at.Sweep != want || at.Next.Move != 0 || at.Do != at.Next.Do {
		t.Errorf("after the move: %s (sweep %v), the set list: %+v; want a sweep %v", at.Do, at.Sweep, at.Next, want)
	}
	if law := playOne(t, b).Heard[0].Reading.Law; law.ToBPM < 1.2*law.FromBPM {
		t.Errorf("played with the law %+v, want a sweep", law)
	}
}

func TestSetListGoesOut(t *testing.T) {
	b := open(t, 6, 84)
	ok(t, b.EditSongs(machine.ReplaceSongs(evening)))
	path := filepath.Join(t.TempDir(), "songs.csv")
	ok(t, b.ExportSongs(path))
	f, err := os.Open(path)
	ok(t, err)
	defer f.Close()
	read, err := machine.ReadSongs(f, b.Machine().Build.Voices)
	if ok(t, err); !reflect.DeepEqual(read.Songs, evening) {
		t.Errorf("came back as %+v", read)
	}
	if err := b.ExportSongs(filepath.Join(path, "songs.csv")); err == nil || !strings.Contains(err.Error(), path) {
		t.Errorf("a place that cannot be written says %v", err)
	}
}
