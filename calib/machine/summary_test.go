package machine

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"lagwright/internal/must"
)

// A tempo is tight once every voice that was asked for there has a setting.
func TestSummary(t *testing.T) {
	m := sample()
	if got := m.LastTake(); !got.Equal(m.Takes[1].At) {
		t.Errorf("last take %v", got)
	}
	if got := (Machine{}).LastTake(); !got.IsZero() {
		t.Errorf("without takes: %v", got)
	}
	m.Target.Song = "Third"
	if got := m.SongNames(); !reflect.DeepEqual(got, []string{"Mill Waltz", "Weir; slow", "Mill Waltz", "Mill Waltz", "Third"}) {
		t.Errorf("songs %q", got)
	}
}

func TestStampTellsSavesApart(t *testing.T) {
	f := create(t, sample())
	before := StampOf(f.Dir())
	if before == (Stamp{}) || StampOf(f.Dir()) != before {
		t.Error("the stamp of a save changes by itself")
	}
	must.Do(t, f.Update(named("Another")))
	later := time.Now().Add(time.Second)
	must.Do(t, os.Chtimes(filepath.Join(f.Dir(), fileName), later, later))
	if StampOf(f.Dir()) == before || StampOf(t.TempDir()) != (Stamp{}) {
		t.Error("another save has the same stamp, or none has one")
	}
}
