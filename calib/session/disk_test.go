package session

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib/whole"
	"lagwright/calib/whole/breaking"
)

// prepare lays out what every job begins with.
func prepare(t *testing.T) (root string) {
	t.Helper()
	root = t.TempDir()
	s := sample()
	numbered(0)(&s)
	f, err := Create(filepath.Join(root, "s"), s)
	if err != nil {
		t.Fatal(err)
	}
	lay(t, f.Dir(), map[string]string{"take-001.wav": string(soundOne), "take-002.wav": string(soundTwo)})
	if err := f.Update(numbered(1)); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Export(context.Background(), filepath.Join(root, "in.zip"), nil); err != nil {
		t.Fatal(err)
	}
	lay(t, root, map[string]string{"out.zip": earlierZip})
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return root
}

// copied returns a copy of what every job begins with, open.
func copied(t *testing.T, prepared string) (root string, f *Folder) {
	t.Helper()
	root = filepath.Join(t.TempDir(), "root")
	if err := os.CopyFS(root, os.DirFS(prepared)); err != nil {
		t.Fatal(err)
	}
	f, err := Open(filepath.Join(root, "s"))
	if err != nil {
		t.Fatal(err)
	}
	return root, f
}

// TestBrokenDisk does each job on a disk that breaks at each of its calls in turn, in
// every way. Whatever comes, what lies there afterwards is the state before the job or
// the one after it, and no take has suffered.
func TestBrokenDisk(t *testing.T) {
	defer breaking.Hasten()()
	prepared := prepare(t)
	calls := map[string][]string{} // of each job
	for _, j := range jobs {
		root, f := copied(t, prepared)
		calls[j.name] = breaking.Watch(func() {
			if err := j.do(t, root, f); err != nil {
				t.Fatal(err)
			}
		})
		f.Close()
	}
	for _, way := range breaking.Ways {
		t.Run(string(way), func(t *testing.T) {
			faults, states := 0, 0
			for _, j := range jobs {
				for at, op := range append(calls[j.name], "") { // after the last as well
					if !way.Breaks(op) || testing.Short() && at%3 != 0 {
						continue
					}
					faults++
					states += breakOnce(t, prepared, j, at, way)
				}
			}
			tried(t, "what a session writes: "+string(way), faults, fmt.Sprintf("what was there before, or after, in each of %d states", states))
			if faults < 20 {
				t.Errorf("only %d faults", faults)
			}
		})
	}
}

// breakOnce breaks a job at a call and looks at what is left, in how many states it
// may be.
func breakOnce(t *testing.T, prepared string, j job, at int, way breaking.Way) (states int) {
	t.Helper()
	root, f := copied(t, prepared)
	defer f.Close()
	var failed error
	d, err := breaking.Break(root, at, way, func() { failed = j.do(t, root, f) })
	if err != nil {
		t.Fatal(err)
	}
	if !way.Cut() {
		wantAlive(t, j, d, way, root, f, failed)
		return 1
	}
	states, err = d.After(t.TempDir(), func(root string) {
		if why := j.wrong(t, root, true, true); why != "" {
			t.Errorf("%s, %s, %s: %s", j.name, way, d.Broken(), why)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return states
}

// wantAlive checks what a job that was not cut off leaves: where it says that it
// failed, the old state, or with a lying disk the new one, and a sentence.
func wantAlive(t *testing.T, j job, d *breaking.Disk, way breaking.Way, root string, f *Folder, failed error) {
	t.Helper()
	where := j.name + ", " + string(way) + ", " + d.Broken()
	if failed != nil && (len(failed.Error()) < 40 || !strings.Contains(failed.Error(), root) && !strings.Contains(failed.Error(), "take-003.wav")) {
		t.Errorf("%s: no sentence: %v", where, failed)
	}
	now := saveNumber(f.Session())
	if failed != nil && now != 1 {
		t.Errorf("%s: it failed, and memory holds save %d", where, now)
	}
	for name := range everything(t, root) {
		if whole.IsTemp(filepath.Base(name)) && !d.Removing() {
			t.Errorf("%s: %s is left behind", where, name)
		}
	}
	f.Close()
	if why := j.wrong(t, root, failed != nil, failed == nil || way == breaking.Lies); why != "" {
		t.Errorf("%s: %s (it said %v)", where, why, failed)
	}
	again(t, where, root)
}

// again saves once more, on a disk that works.
func again(t *testing.T, where, root string) {
	t.Helper()
	f, err := Open(filepath.Join(root, "s"))
	if err != nil {
		t.Errorf("%s: %v", where, err)
		return
	}
	err = f.Update(numbered(7))
	f.Close()
	if n, why := saveIn(f.Dir()); err != nil || n != 7 {
		t.Errorf("%s: with a disk that works %v, save %d %s", where, err, n, why)
	}
}
