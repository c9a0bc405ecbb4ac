package bench

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"lagwright/calib/atomicfile"
	"lagwright/calib/take"
	"lagwright/internal/deeptest"
	"lagwright/internal/diskfault"
	"lagwright/internal/must"
)

// tookOne is a machine's folder with one take.
func tookOne(t *testing.T, seed uint64) string {
	t.Helper()
	b := must.Get(Create(filepath.Join(t.TempDir(), "s"), Practice(seed, 120)))(t)
	must.Get(b.Play(context.Background(), nil))(t)
	must.Do(t, b.Close())
	return b.Dir()
}

// wrongTakes says what is wrong with a machine that has one take or two: each has its
// whole recording, and what lies there besides is whole as well, to be offered again.
func wrongTakes(dir string, least, most int) string {
	b, err := Open(dir)
	if err != nil {
		return err.Error()
	}
	defer b.Close()
	takes := b.Machine().Takes
	if len(takes) < least || len(takes) > most {
		return "there are takes too few or too many"
	}
	paths := b.Strays()
	for _, one := range takes {
		paths = append(paths, filepath.Join(dir, one.File))
	}
	for _, path := range paths {
		f, err := take.Open(path)
		if err != nil {
			return err.Error()
		}
		f.Close()
		if len(f.Warnings()) > 0 {
			return f.Warnings()[0].Text
		}
	}
	return ""
}

// A take is played, or a recording added, on a disk that breaks at each call: the
// machine then has the new take or has not, and no recording is lost or half there.
func TestTakesOnABrokenDisk(t *testing.T) {
	from := tookOne(t, 1)
	sent := filepath.Join(t.TempDir(), "sent.wav")
	data := must.Get(os.ReadFile(filepath.Join(tookOne(t, 2), "take-001.wav")))(t)
	must.Do(t, os.WriteFile(sent, data, 0o600))
	for name, do := range map[string]func(b *Bench) error{
		"play": func(b *Bench) error { _, err := b.Play(context.Background(), nil); return err },
		"add":  func(b *Bench) error { _, err := b.Add(context.Background(), sent, b.Channels(2), nil); return err },
	} {
		root, b := copyOf(t, from)
		var err error
		ops := diskfault.Watch(func() { err = do(b) })
		if b.Close(); err != nil || wrongTakes(filepath.Join(root, "s"), 2, 2) != "" {
			t.Fatalf("%s on a good disk: %v, %s", name, err, wrongTakes(filepath.Join(root, "s"), 2, 2))
		}
		for _, way := range []diskfault.Way{diskfault.Full, diskfault.Dies} {
			var calls []int
			for at, op := range append(ops, "") {
				if way.Breaks(op) && (op != atomicfile.OpWrite || at%7 == 0) { // a recording has many of them
					calls = append(calls, at)
				}
			}
			for _, at := range deeptest.Some(3, calls) {
				breakTake(t, from, at, way, name, do)
			}
		}
	}
}

func copyOf(t *testing.T, from string) (root string, b *Bench) {
	t.Helper()
	root = t.TempDir()
	must.Do(t, os.CopyFS(filepath.Join(root, "s"), os.DirFS(from)))
	return root, must.Get(Open(filepath.Join(root, "s")))(t)
}

func breakTake(t *testing.T, from string, at int, way diskfault.Way, name string, do func(*Bench) error) {
	t.Helper()
	root, b := copyOf(t, from)
	defer b.Close()
	var failed error
	d := must.Get(diskfault.Break(root, at, way, func() { failed = do(b) }))(t)
	if way.Cut() {
		must.Get(d.After(t.TempDir(), func(root string) {
			if why := wrongTakes(filepath.Join(root, "s"), 1, 2); why != "" {
				t.Errorf("%s, %s, %s: %s", name, way, d.Broken(), why)
			}
		}))(t)
		return
	}
	b.Close()
	least, most := 1, 1
	if failed == nil {
		least, most = 2, 2
	}
	if why := wrongTakes(b.Dir(), least, most); why != "" {
		t.Errorf("%s, %s, %s: %s (it said %v)", name, way, d.Broken(), why, failed)
	}
}
