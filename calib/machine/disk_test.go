package machine

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib/atomicfile"
	"lagwright/internal/deeptest"
	"lagwright/internal/diskfault"
	"lagwright/internal/must"
)

// prepare lays out what every job begins with.
func prepare(t *testing.T) (root string) {
	t.Helper()
	root = t.TempDir()
	m := sample()
	numbered(0)(&m)
	f := must.Get(Create(filepath.Join(root, "s"), m))(t)
	lay(t, f.Dir(), map[string]string{"take-001.wav": string(soundOne), "take-002.wav": string(soundTwo)})
	must.Do(t, f.Update(numbered(1)))
	must.Get(f.Export(context.Background(), filepath.Join(root, "in.zip"), nil))(t)
	lay(t, root, map[string]string{"out.zip": earlierZip})
	must.Do(t, f.Close())
	return root
}

// copied returns a copy of what every job begins with, open.
func copied(t *testing.T, prepared string) (root string, f *Folder) {
	t.Helper()
	root = filepath.Join(t.TempDir(), "root")
	must.Do(t, os.CopyFS(root, os.DirFS(prepared)))
	f = must.Get(Open(filepath.Join(root, "s")))(t)
	return root, f
}

// TestBrokenDisk does each job on a disk that breaks in every way, at each of its calls
// in turn when deep. Whatever comes, what lies there afterwards is the state before the job or
// the one after it, and no take has suffered.
func TestBrokenDisk(t *testing.T) {
	defer diskfault.WithoutSync()()
	prepared := prepare(t)
	calls := map[string][]string{} // of each job
	for _, j := range jobs {
		root, f := copied(t, prepared)
		calls[j.name] = diskfault.Watch(func() {
			must.Do(t, j.do(t, root, f))
		})
		f.Close()
	}
	for _, way := range diskfault.Ways {
		t.Run(string(way), func(t *testing.T) {
			faults, states := 0, 0
			for i, j := range jobs {
				var breaks []int
				for at, op := range append(calls[j.name], "") { // after the last as well
					if way.Breaks(op) {
						breaks = append(breaks, at)
					}
				}
				for _, k := range deeptest.Sample(uint64(i), 2, len(breaks)) {
					faults++
					states += breakOnce(t, prepared, j, breaks[k], way)
				}
			}
			tried(t, "what a machine writes: "+string(way), faults, fmt.Sprintf("what was there before, or after, in each of %d states", states))
			if faults < 2*len(jobs) {
				t.Errorf("only %d faults", faults)
			}
		})
	}
}

// breakOnce breaks a job at a call and looks at what is left, in how many states it
// may be.
func breakOnce(t *testing.T, prepared string, j job, at int, way diskfault.Way) (states int) {
	t.Helper()
	root, f := copied(t, prepared)
	defer f.Close()
	var failed error
	d := must.Get(diskfault.Break(root, at, way, func() { failed = j.do(t, root, f) }))(t)
	if !way.Cut() {
		wantAlive(t, j, d, way, root, f, failed)
		return 1
	}
	states = must.Get(d.After(t.TempDir(), func(root string) {
		if why := j.wrong(t, root, true, true); why != "" {
			t.Errorf("%s, %s, %s: %s", j.name, way, d.Broken(), why)
		}
	}))(t)
	return states
}

// wantAlive checks what a job that was not cut off leaves: where it says that it
// failed, the old state, or with a lying disk the new one, and a sentence.
func wantAlive(t *testing.T, j job, d *diskfault.Disk, way diskfault.Way, root string, f *Folder, failed error) {
	t.Helper()
	where := j.name + ", " + string(way) + ", " + d.Broken()
	if failed != nil && (len(failed.Error()) < 40 || !strings.Contains(failed.Error(), root) && !strings.Contains(failed.Error(), "take-003.wav")) {
		t.Errorf("%s: no sentence: %v", where, failed)
	}
	now := saveNumber(f.Machine())
	if failed != nil && now != 1 {
		t.Errorf("%s: it failed, and memory holds save %d", where, now)
	}
	for name := range everything(t, root) {
		if atomicfile.IsTemp(filepath.Base(name)) && !d.Removing() {
			t.Errorf("%s: %s is left behind", where, name)
		}
	}
	left := filepath.Join(t.TempDir(), "left") // as another window would find it
	must.Do(t, os.CopyFS(left, os.DirFS(root)))
	if why := j.wrong(t, left, failed != nil, failed == nil || way == diskfault.Lies); why != "" {
		t.Errorf("%s: %s (it said %v)", where, why, failed)
	}
	again(t, where, f, 7)
}

// again saves once more in the same window, on a disk that works.
func again(t *testing.T, where string, f *Folder, number int) {
	t.Helper()
	err := f.Update(numbered(number))
	f.Close()
	if n, why := saveIn(f.Dir()); err != nil || n != number {
		t.Errorf("%s: with a disk that works %v, save %d %s", where, err, n, why)
	}
}

// TestBrokenAgain breaks two saves of one window, each at each of its calls in turn
// when deep, and a third before it has done anything. Once the disk works the next save holds,
// though it may be the same as before all of them.
func TestBrokenAgain(t *testing.T) {
	defer diskfault.WithoutSync()()
	prepared := prepare(t)
	_, f := copied(t, prepared)
	calls := diskfault.Watch(func() {
		must.Do(t, f.Update(numbered(2)))
	})
	f.Close()
	type fault struct {
		at  int
		way diskfault.Way
	}
	var faults []fault
	for at, op := range calls {
		for _, way := range []diskfault.Way{diskfault.Fails, diskfault.Lies} {
			if way.Breaks(op) && op != atomicfile.OpSyncFolder && op != atomicfile.OpRemove {
				faults = append(faults, fault{at, way})
			}
		}
	}
	rows := deeptest.Sample(1, 16, len(faults)*len(faults))
	for i, row := range rows {
		first, second := faults[row/len(faults)], faults[row%len(faults)]
		root, f := copied(t, prepared)
		where := fmt.Sprintf("%s, then %s", first.way, second.way)
		for n, fault := range []fault{first, second, {0, diskfault.Fails}} {
			var failed error
			d := must.Get(diskfault.Break(root, fault.at, fault.way, func() { failed = f.Update(numbered(2 + n)) }))(t)
			if where += ", " + d.Broken(); failed == nil {
				t.Errorf("%s: no error", where)
			}
		}
		again(t, where, f, []int{5, 1}[i%2])
	}
	tried(t, "several saves in a row fail", len(rows), "told each time; the next save works in the same window")
}
