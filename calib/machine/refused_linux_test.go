package machine

import (
	"context"
	"os"
	"os/signal"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"syscall"
	"testing"

	"lagwright/internal/must"
)

// asNobody runs f without the rights of the superuser, where the tests have
// them: file permissions bind only then. It changes this thread alone.
func asNobody(t *testing.T, f func()) {
	t.Helper()
	if os.Getuid() != 0 {
		f()
		return
	}
	const nobody = 65534
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	must.Do(t, syscall.Setfsuid(nobody))
	defer syscall.Setfsuid(0)
	f()
}

// reachable opens the folders above dir to all, so that only the machine folder's own bits decide.
func reachable(t *testing.T, dir string) {
	t.Helper()
	for d := dir; len(d) > len(os.TempDir()); d = filepath.Dir(d) {
		must.Do(t, os.Chmod(d, 0o755))
	}
}

func TestReadOnlyFolder(t *testing.T) {
	f := create(t, sample())
	f.Close()
	reachable(t, f.Dir())
	must.Do(t, os.Chmod(f.Dir(), 0o555))
	defer os.Chmod(f.Dir(), 0o755)
	before := everything(t, f.Dir())
	asNobody(t, func() {
		_, err := Open(f.Dir())
		wantSentence(t, err, f.Dir(), "cannot be written to", "copy it")
		if m, err := Load(f.Dir()); err != nil || m.Build.Name != sample().Build.Name {
			t.Errorf("reading a read-only folder: %v", err)
		}
		_, err = Create(filepath.Join(f.Dir(), "new"), sample())
		wantSentence(t, err, "cannot be made")
		wantReadOnly(t, f.Dir(), sample().Build.Name, "cannot be written to", "copy it")
	})
	if after := everything(t, f.Dir()); !reflect.DeepEqual(after, before) {
		t.Errorf("changed: %q", after)
	}
	tried(t, "folder that may not be written to", 1, "shown, to be read only, with the reason")
}

func TestUnreadableFileIsNotDamaged(t *testing.T) {
	f := create(t, sample())
	f.Close()
	reachable(t, f.Dir())
	path := filepath.Join(f.Dir(), fileName)
	must.Do(t, os.Chmod(f.Dir(), 0o777))
	must.Do(t, os.Chmod(filepath.Join(f.Dir(), lockName), 0o666))
	must.Do(t, os.Chmod(path, 0))
	asNobody(t, func() {
		_, err := Open(f.Dir())
		wantSentence(t, err, path, "cannot be read")
	})
	if _, err := os.Stat(path); err != nil {
		t.Error("the file was moved")
	}
}

// What cannot be read any more may be somebody else's by now.
func TestUnreadableFileIsNotOverwritten(t *testing.T) {
	f := create(t, sample())
	reachable(t, f.Dir())
	path := filepath.Join(f.Dir(), fileName)
	must.Do(t, os.Chmod(f.Dir(), 0o777))
	before := everything(t, f.Dir())
	must.Do(t, os.Chmod(path, 0))
	asNobody(t, func() { wantSentence(t, f.Update(named("over it")), path, "cannot be read", "who may read it") })
	must.Do(t, os.Chmod(path, 0o644))
	if after := everything(t, f.Dir()); !reflect.DeepEqual(after, before) {
		t.Errorf("it became %q", after)
	}
	if err := f.Update(named("goes on")); err != nil {
		t.Error(err)
	}
}

// TestFullDisk has the system refuse files beyond a size, as a full disk does. The machine
// is long, so that what go test writes down of the files it opens stays below.
func TestFullDisk(t *testing.T) {
	long := sample()
	long.Notes = strings.Repeat("As in May. ", 1<<20)
	f := create(t, long)
	before := everything(t, f.Dir())
	var limit syscall.Rlimit
	must.Do(t, syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit))
	signal.Ignore(syscall.SIGXFSZ)
	defer signal.Reset(syscall.SIGXFSZ)
	full := limit
	full.Cur = uint64(len(before[fileName])) - 1
	must.Do(t, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &full))
	err := f.Update(named("lost"))
	must.Do(t, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit))
	wantSentence(t, err, f.Dir(), "the save before still holds", "room")
	if got := f.Machine(); !reflect.DeepEqual(got, long) {
		t.Errorf("memory changed: %+v", got.Build)
	}
	if after := everything(t, f.Dir()); !reflect.DeepEqual(after, before) {
		t.Error("disk changed")
	}
	if err := f.Update(named("found")); err != nil {
		t.Errorf("with room again: %v", err)
	}
}

// A device in the place of a file would be read without end, or wait without end.
func TestDeviceForAMachine(t *testing.T) {
	for _, at := range []string{fileName, backupName, lockName} {
		dir := t.TempDir()
		if at != fileName {
			lay(t, dir, map[string]string{fileName: string(own(t).data)})
		}
		must.Do(t, syscall.Mkfifo(filepath.Join(dir, at), 0o600))
		for _, open := range []func() error{
			func() error { _, err := Open(dir); return err },
			func() error { _, err := OpenOrRead(dir); return err },
			func() error { _, err := Load(dir); return err },
		} {
			wantSentence(t, open(), filepath.Join(dir, at), "not a file")
		}
	}
	pipe := filepath.Join(t.TempDir(), "sent.zip")
	must.Do(t, syscall.Mkfifo(pipe, 0o600))
	_, err := Import(context.Background(), pipe, t.TempDir(), nil)
	wantSentence(t, err, "sent.zip", "not a plain file", "choose a zip")
	tried(t, "device for a machine's file", 3, "refused with a sentence")
}
