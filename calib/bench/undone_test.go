package bench_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/machine"
)

// A take that was undone is not lost: Redo survives a look at another set list, also on disk its
// recording keeps its name, can be opened again with other channels, and is offered when the
// machine is opened again.
func TestUndoneTakeIsNotLost(t *testing.T) {
	b := shop(t, 90)
	ok(t, b.EditSongs(machine.AddSong(0, evening[0])))
	ok(t, b.EditLists(func(m *machine.Machine) error { return m.KeepList("", "Friday", []int{0}) }))
	use := func(list string) {
		t.Helper()
		ok(t, b.Update(func(m *machine.Machine) error { return m.UseList(list) }))
	}
	use("")
	path := filepath.Join(b.Dir(), "evening.wav")
	record(t, path, block)
	kept, err := b.Add(t.Context(), path, on(2, 2, 1), nil)
	ok(t, err)
	undone := func(step func() (string, error), takes int, list string) {
		t.Helper()
		what, err := step()
		ok(t, err)
		if m := b.Machine(); what != "take 1" || len(m.Takes) != takes || m.CurrentList != list || (len(b.Strays()) == 1) == (takes == 1) {
			t.Errorf("%q changed: %d takes, set list %q, strays %q", what, len(m.Takes), m.CurrentList, b.Strays())
		}
	}
	undone(b.Undo, 0, "")
	use("Friday")
	undone(b.Redo, 1, "Friday")
	undone(b.Undo, 0, "Friday")
	ok(t, b.Close())
	b, err = bench.Open(b.Dir())
	ok(t, err)
	defer b.Close()
	if got := b.Strays(); !slices.Equal(got, []string{path}) {
		t.Fatalf("offered is %q", got)
	}
	again, err := b.Add(t.Context(), path, on(2, 1, 2), nil)
	ok(t, err)
	if again.File != kept.File || again.Reference != 1 || len(b.Strays()) != 0 {
		t.Errorf("with other channels it is kept as %s, left are %q", again.File, b.Strays())
	}
}

// Which set list is in hand is no change, but what began, renamed or removed a list has its own
// in hand again.
func TestUndoOfSetLists(t *testing.T) {
	b := shop(t, 90)
	ok(t, b.EditSongs(machine.AddSong(0, evening[0])))
	in := func(want string) {
		t.Helper()
		if got := b.Machine().CurrentList; got != want {
			t.Errorf("%q is in hand, want %q", got, want)
		}
	}
	undo := func(want string) {
		t.Helper()
		_, err := b.Undo()
		ok(t, err)
		in(want)
	}
	keep := func(was, name string) {
		t.Helper()
		ok(t, b.EditLists(func(m *machine.Machine) error { return m.KeepList(was, name, []int{0}) }))
	}
	keep("", "Friday")
	ok(t, b.EditLists(func(m *machine.Machine) error { m.DropList(); return nil }))
	in("")
	undo("Friday")
	keep("Friday", "Fair")
	undo("Friday")
	undo("")
}

// Redo gives a take no other sound than the one it was read from.
func TestRedoHasItsOwnSound(t *testing.T) {
	b := shop(t, 90)
	path := filepath.Join(b.Dir(), "evening.wav")
	record(t, path, block)
	_, err := b.Add(t.Context(), path, on(2, 1, 2), nil)
	ok(t, err)
	info, err := os.Stat(path)
	ok(t, err)
	own, err := os.ReadFile(path)
	ok(t, err)
	_, err = b.Undo()
	ok(t, err)
	for what, spoil := range map[string]func() error{
		"another":         func() error { return os.WriteFile(path, own[:len(own)-4], 0o644) },
		"another as long": func() error { return os.Chtimes(path, time.Time{}, info.ModTime().Add(time.Hour)) },
		"none":            func() error { return os.Remove(path) },
	} {
		ok(t, spoil())
		if _, err = b.Redo(); err == nil || !strings.Contains(err.Error(), "evening.wav is gone or is another recording by now, so take 1 cannot come back") || len(b.Machine().Takes) != 0 {
			t.Errorf("%s: %v; %d takes", what, err, len(b.Machine().Takes))
		}
		ok(t, os.WriteFile(path, own, 0o644))
		ok(t, os.Chtimes(path, time.Time{}, info.ModTime()))
	}
	_, err = b.Redo()
	ok(t, err)
	if n := len(b.Machine().Takes); n != 1 {
		t.Errorf("its own recording back, there are %d takes", n)
	}
}

// A recording is known again whatever was put right of its take, and whatever skew was taken
// off when it was recorded.
func TestSameRecordingAsCorrected(t *testing.T) {
	for what, first := range map[string]func(*bench.Bench, string){
		"reference put right": func(b *bench.Bench, path string) {
			_, err := b.Add(t.Context(), path, on(2, 1, 2), nil)
			ok(t, err)
			ok(t, b.Correct(1, bench.Correction{TempoBPM: 90, Reference: 2}))
		},
		"skew taken off": func(b *bench.Bench, path string) {
			id, kept := b.NewTake()
			ok(t, b.Copy(t.Context(), path, filepath.Base(kept), nil))
			ch := on(2, 1, 2)
			ch.Voices[0].Skew = calib.Skew{MS: 1.5, UncertaintyMS: 0.1, Knocks: 6}
			_, err := b.Keep(t.Context(), bench.Recorded{ID: id, Path: kept, Origin: machine.RecordedFrom("Desk"), On: ch}, nil)
			ok(t, err)
		},
		"both": func(b *bench.Bench, path string) {
			id, kept := b.NewTake()
			ok(t, b.Copy(t.Context(), path, filepath.Base(kept), nil))
			ch := on(2, 2, 1)
			ch.Voices[0].Skew = calib.Skew{MS: -1.5, UncertaintyMS: 0.1, Knocks: 6}
			_, err := b.Keep(t.Context(), bench.Recorded{ID: id, Path: kept, Origin: machine.RecordedFrom("Desk"), On: ch}, nil)
			ok(t, err)
			ok(t, b.Correct(1, bench.Correction{TempoBPM: 90, Reference: 1}))
		},
	} {
		b, path := shop(t, 90), filepath.Join(t.TempDir(), "evening.wav")
		record(t, path, block)
		first(b, path)
		for _, ch := range []machine.Microphones{on(2, 1, 2), on(2, 2, 1)} {
			if _, err := b.Add(t.Context(), path, ch, nil); err == nil || !strings.Contains(err.Error(), "this recording is take 1 already") {
				t.Errorf("%s: by reference %d it counts a second time: %v", what, ch.Reference, err)
			}
		}
	}
}
