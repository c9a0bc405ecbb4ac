package machine

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"syscall"
	"testing"
	"time"

	"lagwright/calib/atomicfile"
	"lagwright/internal/diskfault"
	"lagwright/internal/must"
)

// wantReadOnly opens a folder that cannot be changed: it shows the machine, says why
// it goes no further, refuses changes and leaves the disk alone.
func wantReadOnly(t *testing.T, dir, name string, says ...string) {
	t.Helper()
	before := everything(t, dir)
	f := must.Get(OpenOrRead(dir))(t)
	wantSentence(t, f.ReadOnly(), append(says, "the machine can only be read: ", dir)...)
	if err := f.Update(named("changed")); err == nil || err.Error() != f.ReadOnly().Error() {
		t.Errorf("a change says %v", err)
	}
	if got := f.Machine().Build.Name; got != name {
		t.Errorf("it shows %q, want %q", got, name)
	}
	if err := f.Close(); err != nil {
		t.Error(err)
	}
	if after := everything(t, dir); !reflect.DeepEqual(after, before) {
		t.Errorf("the folder changed from %q to %q", before, after)
	}
}

func TestSecondWindowReads(t *testing.T) {
	f := create(t, sample())
	wantReadOnly(t, f.Dir(), "Barn machine", "open in another Lagwright window; close it there first")
	must.Do(t, f.Update(named("the first goes on")))
	wantReadOnly(t, f.Dir(), "the first goes on")
	if f.ReadOnly() != nil {
		t.Errorf("the first window: %v", f.ReadOnly())
	}
	second := must.Get(OpenOrRead(f.Dir()))(t)
	path := filepath.Join(t.TempDir(), "copy.zip")
	if _, err := second.Export(context.Background(), path, nil); err != nil {
		t.Errorf("what can be read cannot be exported: %v", err)
	}
	f.Close()
	second.Close()
	g, err := OpenOrRead(f.Dir())
	if err != nil || g.ReadOnly() != nil {
		t.Fatalf("with the first window closed: %v", err)
	}
	g.Close()
	tried(t, "machine open in another window", 3, "shown, to be read only, with the reason")
}

// The lock of a window that is gone is none, whatever it left in the folder.
func TestStaleLock(t *testing.T) {
	f := create(t, sample())
	f.Close()
	lay(t, f.Dir(), map[string]string{lockName: "another computer, process 4711"})
	past := time.Now().Add(-1000 * time.Hour)
	must.Do(t, os.Chtimes(filepath.Join(f.Dir(), lockName), past, past))
	g, err := OpenOrRead(f.Dir())
	if err != nil || g.ReadOnly() != nil {
		t.Fatal(err, g.ReadOnly())
	}
	defer g.Close()
	if err := g.Update(named("healed")); err != nil {
		t.Error(err)
	}
	tried(t, "lock left behind", 1, "opened")
}

// Some disks, of a network most of all, have no locks.
func TestDiskWithoutLocks(t *testing.T) {
	f := create(t, sample())
	f.Close()
	for _, why := range []error{syscall.ENOLCK, syscall.ENOTSUP, syscall.ENOSYS} {
		undo := diskfault.Between(func(c atomicfile.Call, do func() error) error {
			if c.Op == atomicfile.OpLock {
				return &fs.PathError{Op: c.Op, Path: c.Path, Err: why}
			}
			return do()
		})
		wantReadOnly(t, f.Dir(), "Barn machine", "cannot be locked", "copy it to a disk of this computer")
		_, err := Open(f.Dir())
		wantSentence(t, err, f.Dir(), "cannot be locked", "copy it to a disk of this computer")
		undo()
	}
	tried(t, "disk without locks", 3, "shown, to be read only, with the reason")
}

// A later Lagwright's machine is shown where it can be, and never written to.
func TestNewerVersionReads(t *testing.T) {
	newer := bytes.Replace(own(t).data, []byte(`"version": 1`), []byte(`"version": 99, "tide": "high"`), 1)
	dir := t.TempDir()
	lay(t, dir, map[string]string{fileName: string(newer), "take-001.wav": "", "take-002.wav": "", lockName: ""})
	wantReadOnly(t, dir, "Barn machine", "saved by a newer Lagwright", "update Lagwright")
	wantOnlyExported(t, dir, newer)
	other := `{"format": "lagwright-machine", "version": 99, "takes": "elsewhere"}`
	lay(t, dir, map[string]string{fileName: other})
	if _, err := OpenOrRead(dir); !errors.Is(err, ErrNewer) {
		t.Errorf("one that it does not understand: %v", err)
	}
	tried(t, "machine of a later version", 2, "shown, to be read only, or refused with the reason")
}

// wantOnlyExported checks that a machine can be handed on as it is, and is not copied
// as this version would write it.
func wantOnlyExported(t *testing.T, dir string, data []byte) {
	t.Helper()
	f := must.Get(OpenOrRead(dir))(t)
	defer f.Close()
	beside := everything(t, filepath.Dir(dir))
	_, err := f.Duplicate(context.Background(), nil)
	wantSentence(t, err, dir, "not duplicated", "would lose", "a zip keeps", "update Lagwright")
	if !errors.Is(err, ErrNewer) || !reflect.DeepEqual(everything(t, filepath.Dir(dir)), beside) {
		t.Errorf("duplicating: %v", err)
	}
	path := filepath.Join(t.TempDir(), "newer.zip")
	must.Get(f.Export(context.Background(), path, nil))(t)
	z := must.Get(zip.OpenReader(path))(t)
	defer z.Close()
	in := must.Get(z.Open(fileName))(t)
	if got, err := io.ReadAll(in); err != nil || !bytes.Equal(got, data) {
		t.Errorf("the zip holds %q, %v", got, err)
	}
}

// Where the damaged file cannot be mended the backup is shown.
func TestReadOnlyShowsTheLastGoodSave(t *testing.T) {
	f := create(t, sample())
	must.Do(t, f.Update(named("second")))
	lay(t, f.Dir(), map[string]string{fileName: "{"})
	wantReadOnly(t, f.Dir(), "Barn machine")
	g, err := OpenOrRead(f.Dir())
	if err != nil || g.Warnings()[0].Code != WarnLastGood {
		t.Errorf("%v, %+v", err, g.Warnings())
	}
	lay(t, f.Dir(), map[string]string{backupName: "{"})
	if _, err := OpenOrRead(f.Dir()); !errors.Is(err, ErrLocked) {
		t.Errorf("with nothing to show: %v", err)
	}
}

// A folder that goes away while it is open, as with a drive that is unplugged or a
// name that is changed, is said to; with it back, all goes on.
func TestFolderGoesAway(t *testing.T) {
	f := create(t, sample())
	lay(t, f.Dir(), map[string]string{"take-001.wav": "one", "take-002.wav": "two"})
	away := f.Dir() + " elsewhere"
	must.Do(t, os.Rename(f.Dir(), away))
	before := everything(t, away)
	wantSentence(t, f.Update(named("lost")), f.Dir(), "not there any more", "plug its disk in again", "name back")
	if got := f.Machine(); !reflect.DeepEqual(got, sample()) {
		t.Errorf("memory holds %q", got.Build.Name)
	}
	missing, err := f.Export(context.Background(), filepath.Join(t.TempDir(), "x.zip"), nil)
	if err != nil || len(missing) != 2 {
		t.Errorf("exporting: %v, missing %q", err, missing)
	}
	f.NewTake()
	f.Strays()
	if _, err := os.Stat(f.Dir()); err == nil {
		t.Error("a new folder was made")
	}
	if after := everything(t, away); !reflect.DeepEqual(after, before) {
		t.Errorf("the folder changed from %q to %q", before, after)
	}
	must.Do(t, os.Rename(away, f.Dir()))
	if err := f.Update(named("found")); err != nil {
		t.Errorf("with the folder back: %v", err)
	}
	tried(t, "folder renamed, or its disk unplugged, while open", 1, "told in a sentence; with the folder back it goes on")
}

// Another machine that came to lie where this one was is not overwritten, nor is what
// another program made of this one.
func TestChangedByOthers(t *testing.T) {
	f := create(t, sample())
	must.Do(t, os.Rename(f.Dir(), f.Dir()+" elsewhere"))
	other := sample()
	other.Build.Name = "another drive"
	g := must.Get(Create(f.Dir(), other))(t)
	defer g.Close()
	wantSentence(t, f.Update(named("mine")), filepath.Join(f.Dir(), fileName), "changed by another program", "open it again")
	if m, err := Load(f.Dir()); err != nil || m.Build.Name != other.Build.Name {
		t.Errorf("%q, %v", m.Build.Name, err)
	}
	if err := g.Update(named("goes on")); err != nil {
		t.Error(err)
	}
	must.Do(t, os.Remove(filepath.Join(f.Dir(), fileName)))
	if err := g.Update(named("saved again")); err != nil {
		t.Errorf("where there is nothing to overwrite: %v", err)
	}
	tried(t, "machine changed by another program while open", 1, "told in a sentence, not overwritten")
}

// A clock that is set back changes neither the order of takes nor their ids.
func TestClockSetBack(t *testing.T) {
	m := sample()
	m.Created = time.Date(2199, 1, 1, 0, 0, 0, 0, time.UTC)
	f := create(t, m)
	for range 3 {
		id, path := f.NewTake()
		lay(t, f.Dir(), map[string]string{filepath.Base(path): "sound"})
		must.Do(t, f.Update(func(m *Machine) error {
			last := clone(m.Takes[len(m.Takes)-1])
			last.ID, last.File, last.At = id, filepath.Base(path), last.At.Add(-1000*time.Hour)
			m.Takes = append(m.Takes, last)
			return nil
		}))
	}
	f.Close()
	past := time.Unix(0, 0)
	must.Do(t, os.Chtimes(filepath.Join(f.Dir(), fileName), past, past))
	g := must.Get(Open(f.Dir()))(t)
	defer g.Close()
	var ids []int
	for _, take := range g.Machine().Takes {
		ids = append(ids, take.ID)
	}
	if !reflect.DeepEqual(ids, []int{1, 2, 3, 4, 5}) {
		t.Errorf("takes %v", ids)
	}
	if id, _ := g.NewTake(); id != 6 {
		t.Errorf("the next take is %d", id)
	}
	if last := g.Machine().LastTake(); !last.Equal(sample().Takes[1].At) {
		t.Errorf("the last take was at %v", last)
	}
	tried(t, "clock set back between takes", 3, "order and ids stay")
}

// A folder that another window fills stays, though the clock was set back meanwhile.
func TestSweepWithClockSetBack(t *testing.T) {
	root := t.TempDir()
	filling := filepath.Join(root, fillingPrefix+"1"+fillingSuffix)
	lay(t, filling, map[string]string{"take-001.wav": "sound"})
	future := time.Now().Add(1000 * time.Hour)
	must.Do(t, os.Chtimes(filling, future, future))
	sweep(root)
	if _, err := os.Stat(filling); err != nil {
		t.Error(err)
	}
}
