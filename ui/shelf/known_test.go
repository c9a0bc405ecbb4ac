package shelf

import (
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib/bench"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// Nothing of the machines' folder is read before the background gets to it.
func TestMachinesAreLookedForInTheBackground(t *testing.T) {
	test.NewTempApp(t)
	root, told := t.TempDir(), 0
	b := must.Get(bench.Create(root+"/one", bench.Practice(1, 84)))(t)
	b.Close()
	var waiting []func()
	h := newShelf(func(f func()) { waiting = append(waiting, f) }, func() string { return root }, func() { told++ })
	if h.refresh(); len(h.All) != 0 || told != 0 || len(waiting) != 1 {
		t.Fatalf("at once there are %q", h.All)
	}
	if waiting[0](); len(h.Shown) != 1 || h.Name(h.Shown[0]) != b.Machine().Build.Name || told != 2 {
		t.Errorf("then %q, told %d times", h.Shown, told)
	}
}

// A take that another window is recording is no take that was not finished.
func TestTakeUnderWayIsNotBroken(t *testing.T) {
	dir := t.TempDir() + "/one"
	b := must.Get(bench.Create(dir, bench.Practice(1, 84)))(t)
	must.Do(t, os.WriteFile(dir+"/take-001.part.wav", []byte("RIFF"), 0o600))
	stamp := machine.StampOf(dir)
	if k := readKept(dir, stamp); k.broken || k.stamp == stamp {
		t.Errorf("while it is recorded: %+v", k)
	}
	b.Close()
	if k := readKept(dir, stamp); !k.broken || k.stamp != stamp {
		t.Errorf("left over: %+v", k)
	}
}

// Who looks at the machines leaves what a crash left to be found, and told of, when one is opened.
func TestShelfLeavesACutOffSaveAlone(t *testing.T) {
	dir := t.TempDir() + "/one"
	b := must.Get(bench.Create(dir, bench.Practice(1, 84)))(t)
	b.Close()
	for _, name := range []string{"take-001.part.wav", ".machine.json-1.whole.tmp"} {
		must.Do(t, os.WriteFile(filepath.Join(dir, name), []byte("RIFF"), 0o600))
	}
	for _, lock := range []bool{true, false} { // a copied folder has no file to lock yet
		if !lock {
			os.Remove(dir + "/.machine.lock")
		}
		before, _ := os.ReadDir(dir)
		if k := readKept(dir, machine.StampOf(dir)); !k.broken {
			t.Errorf("locked before %v: not broken", lock)
		}
		if after, _ := os.ReadDir(dir); len(after) != len(before) {
			t.Errorf("locked before %v: it held %v, now %v", lock, before, after)
		}
	}
	f := must.Get(machine.Open(dir))(t)
	defer f.Close()
	if told := f.Warnings(); len(told) != 1 || told[0].Code != machine.WarnUnfinishedSave {
		t.Errorf("opened, it says %v", told)
	}
}
