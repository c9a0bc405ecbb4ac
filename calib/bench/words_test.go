package bench_test

import (
	"context"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
)

// Name and notes change, and Undo takes each back in its turn; Redo makes it again.
func TestNameAndNotes(t *testing.T) {
	b := played(t, practice.Default(), truly{"tub drum", 84, 0, 10})
	steps := []session.Session{b.Session()}
	id := steps[0].Takes[0].ID
	for _, change := range []func() error{
		func() error { return b.Rename("  Yard, spring ") },
		func() error { return b.Note("windy\nall day\n") },
		func() error { return b.NoteTake(id, "crank stiff") },
	} {
		ok(t, change())
		steps = append(steps, b.Session())
	}
	now := b.Session()
	if now.Name != "Yard, spring" || now.Notes != "windy\nall day" || now.Takes[0].Notes != "crank stiff" {
		t.Errorf("kept %q, %q, %q", now.Name, now.Notes, now.Takes[0].Notes)
	}
	for i := len(steps) - 2; i >= 0; i-- {
		ok(t, b.Undo(bench.SetList))
		if !reflect.DeepEqual(b.Session(), steps[i]) {
			t.Errorf("undone to %d it is another session", i)
		}
	}
	for i := 1; i < len(steps); i++ {
		ok(t, b.Redo(bench.SetList))
		if !reflect.DeepEqual(b.Session(), steps[i]) {
			t.Errorf("made again to %d it is another session", i)
		}
	}
	if err := b.Rename(" "); err == nil || !strings.Contains(err.Error(), "needs a name") {
		t.Errorf("no name: %v", err)
	}
	if err := b.NoteTake(99, "x"); err == nil || !strings.Contains(err.Error(), "no take 99") {
		t.Errorf("no take: %v", err)
	}
}

// What was exported and imported goes on like the session itself.
func TestImportedSessionGoesOn(t *testing.T) {
	b := played(t, practice.Default(), truly{"tub drum", 84, 0, 10})
	path := filepath.Join(t.TempDir(), "yard.zip")
	missing, err := b.Export(context.Background(), path, nil)
	ok(t, err)
	dir, err := session.Import(context.Background(), path, t.TempDir(), nil)
	ok(t, err)
	copied, err := bench.Open(dir)
	ok(t, err)
	defer copied.Close()
	if len(missing) > 0 || !reflect.DeepEqual(copied.Session(), b.Session()) || !reflect.DeepEqual(copied.Standing(), b.Standing()) {
		t.Errorf("missing %q; stands at %+v, want %+v", missing, copied.Standing(), b.Standing())
	}
	f, err := copied.OpenTake(copied.Session().Takes[0])
	ok(t, err)
	f.Close()
}
