package atomicfile

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"lagwright/internal/must"
)

func names(t *testing.T, dir string) (all []string) {
	t.Helper()
	entries := must.Get(os.ReadDir(dir))(t)
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

func holds(t *testing.T, path, want string) {
	t.Helper()
	if got, err := os.ReadFile(path); err != nil || string(got) != want {
		t.Errorf("%s holds %q (%v), want %q", path, got, err, want)
	}
}

func TestWriteReplacesOrLeaves(t *testing.T) {
	path := filepath.Join(t.TempDir(), "card.svg")
	must.Do(t, Write(path, Bytes([]byte("first"))))
	holds(t, path, "first")

	full := errors.New("no room")
	err := Write(path, func(w io.WriteSeeker) error {
		io.WriteString(w, "half of the sec")
		return full
	})
	if !errors.Is(err, full) {
		t.Errorf("error %v, want that of fill", err)
	}
	holds(t, path, "first")
	if all := names(t, filepath.Dir(path)); len(all) != 1 {
		t.Errorf("left behind: %v", all)
	}
}

func TestPendingChangesNothingUntilCommitted(t *testing.T) {
	path := filepath.Join(t.TempDir(), "machine.json")
	os.WriteFile(path, []byte("before"), 0o600)
	p := must.Get(Prepare(path, Bytes([]byte("after"))))(t)
	holds(t, path, "before")
	temps := 0
	for _, name := range names(t, filepath.Dir(path)) {
		if IsTemp(name) {
			temps++
		}
	}
	if temps != 1 || IsTemp("machine.json") || IsTemp("notes.whole.tmp") {
		t.Errorf("IsTemp does not tell the file being written: %v", names(t, filepath.Dir(path)))
	}
	must.Do(t, p.Commit())
	p.Discard()
	holds(t, path, "after")
	if info, _ := os.Stat(path); runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("permissions became %v", info.Mode().Perm())
	}
}

func TestWriteIntoNoFolder(t *testing.T) {
	if err := Write(filepath.Join(t.TempDir(), "gone", "x"), Bytes(nil)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("error %v, want one that says the folder does not exist", err)
	}
}
