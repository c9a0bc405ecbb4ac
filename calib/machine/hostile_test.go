package machine

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"lagwright/internal/boundedtest"
	"lagwright/internal/diskfault"
	"lagwright/internal/must"
)

// fileBounds is what a machine.json, or a zip with one, may cost: it is read a few
// times over, and every {} in it may stand for a take.
var fileBounds = boundedtest.Bounds{Fixed: 16 << 20, PerByte: 2000, TimeEach: 2 * time.Microsecond}

// outsideText is what lies beside a machine folder and is nobody's to touch.
const outsideText = "not a part of the machine"

// tried notes what go run ./cmd/dev faults puts into its table.
func tried(t *testing.T, fault string, times int, happened string) {
	t.Helper()
	t.Logf("tried: %s | %d | %s", fault, times, happened)
}

// everything lists what lies below a folder: files with what is in them, links with
// where they go.
func everything(t *testing.T, root string) map[string]string {
	t.Helper()
	all := map[string]string{}
	must.Do(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		name, _ := filepath.Rel(root, path)
		switch {
		case err != nil || name == ".":
			return err
		case d.Type().IsRegular():
			data, err := os.ReadFile(path)
			all[name] = string(data)
			return err
		case d.Type()&fs.ModeSymlink != 0:
			all[name], err = os.Readlink(path)
			return err
		}
		all[name] = d.Type().String()
		return nil
	}))
	return all
}

// beside returns what everything holds besides a folder in it.
func beside(all map[string]string, dir string) map[string]string {
	for name := range all {
		if name == dir || strings.HasPrefix(name, dir+string(filepath.Separator)) {
			delete(all, name)
		}
	}
	return all
}

// FuzzMachine throws a machine.json, with a backup of the same or none, at Open, and
// then does with it what a window does. Whatever it says, nothing outside the folder
// is changed and nothing of it gets into the machine's zip.
func FuzzMachine(f *testing.F) {
	data := own(f).data
	f.Add(data, false)
	f.Add(data[:len(data)/2], true)
	for _, file := range []string{"../outside.wav", "/etc/passwd", "a/../../outside.wav", `..\\outside.wav`, "link.wav", "linked/outside.wav", "machine.json", ".machine.lock", "machine.json.bak", "sub/"} {
		f.Add(bytes.Replace(data, []byte(`"take-001.wav"`), []byte(`"`+file+`"`), 1), true)
	}
	for _, name := range []string{"../x", "", "CON", `\u0000`, "/", "\\u202e"} {
		f.Add(bytes.Replace(data, []byte(`"Barn machine"`), []byte(`"`+name+`"`), 1), false)
	}
	f.Cleanup(diskfault.WithoutSync())
	f.Fuzz(func(t *testing.T, data []byte, backup bool) {
		home := t.TempDir()
		boundedtest.Check(t, len(data), fileBounds, func() { openHostile(t, home, data, backup) })
	})
}

// openHostile lays out a machine folder with a neighbour that links in it lead to,
// and opens, saves and exports it.
func openHostile(t *testing.T, home string, data []byte, backup bool) {
	dir, outside := filepath.Join(home, "s"), filepath.Join(home, "outside")
	defer os.RemoveAll(dir)
	lay(t, outside, map[string]string{"outside.wav": outsideText})
	files := map[string]string{fileName: string(data), "take-001.wav": "RIFF"}
	if backup {
		files[backupName] = string(data)
	}
	lay(t, dir, files)
	link(t, filepath.Join(outside, "outside.wav"), filepath.Join(dir, "link.wav"))
	link(t, outside, filepath.Join(dir, "linked"))
	before := beside(everything(t, home), "s")
	f, err := Open(dir)
	if err != nil {
		wantSentence(t, err, dir)
	} else {
		useHostile(t, f, home)
	}
	if after := beside(everything(t, home), "s"); !reflect.DeepEqual(after, before) {
		t.Errorf("outside the machine changed from %q to %q", before, after)
	}
}

// useHostile does what a window does with a machine that could be opened.
func useHostile(t *testing.T, f *Folder, home string) {
	defer f.Close()
	for _, take := range f.Machine().Takes {
		if rel, err := filepath.Rel(f.Dir(), f.TakePath(take)); err != nil || !filepath.IsLocal(rel) {
			t.Errorf("take %d is said to be at %s", take.ID, f.TakePath(take))
		}
	}
	f.Strays()
	if _, path := f.NewTake(); filepath.Dir(path) != f.Dir() {
		t.Errorf("the next take goes to %s", path)
	}
	if err := f.Update(named("another")); err != nil {
		t.Errorf("a machine that opens cannot be saved: %v", err)
	} else if m, err := Load(f.Dir()); err != nil || m.Build.Name != "another" {
		t.Errorf("saved as another, read as %q, %v", m.Build.Name, err)
	}
	path := filepath.Join(home, "s", "sent.zip")
	if _, err := f.Export(context.Background(), path, nil); err != nil {
		wantSentence(t, err, f.Dir())
		return
	}
	if packed, err := os.ReadFile(path); err != nil || bytes.Contains(packed, []byte(outsideText)) {
		t.Errorf("what lies outside went into the zip (%v)", err)
	}
}

// lay makes a folder with files in it.
func lay(t *testing.T, dir string, files map[string]string) {
	t.Helper()
	must.Do(t, os.MkdirAll(dir, 0o755))
	for name, text := range files {
		must.Do(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
}

func link(t *testing.T, to, at string) {
	t.Helper()
	must.Do(t, os.Symlink(to, at))
}
