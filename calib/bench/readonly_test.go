package bench

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// Nothing is recorded into a machine that another window has: it would lie there as
// a recording without a take, or take the name of one of the other window's.
func TestReadOnlyRecordsNothing(t *testing.T) {
	first := must.Get(Create(filepath.Join(t.TempDir(), "s"), Practice(1, 90)))(t)
	defer first.Close()
	kept := must.Get(first.Play(context.Background(), nil))(t)
	b := must.Get(OpenOrRead(first.Dir()))(t)
	defer b.Close()
	before, _ := os.ReadDir(first.Dir())
	ctx := context.Background()
	path := filepath.Join(first.Dir(), kept.File)
	for name, do := range map[string]func() error{
		"play":        func() error { _, err := b.Play(ctx, nil); return err },
		"add":         func() error { _, err := b.Add(ctx, path, b.Channels(2), nil); return err },
		"turn":        func() error { return b.Moved(3, "") },
		"rename":      func() error { return b.Rename("other") },
		"leave out":   func() error { return b.LeaveOut(kept.ID, true) },
		"aim":         func() error { return b.Aim(machine.Target{TempoBPM: 100, Voice: kept.Target.Voice}) },
		"microphones": func() error { return b.SetMicrophones(machine.Microphones{}) },
	} {
		if err := do(); err == nil || !strings.Contains(err.Error(), "can only be read") || !strings.Contains(err.Error(), "another Lagwright window") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if after, _ := os.ReadDir(first.Dir()); len(after) != len(before) {
		t.Errorf("%d files became %d", len(before), len(after))
	}
	if f, err := b.OpenTake(b.Machine().Takes[0]); err != nil {
		t.Errorf("its take cannot be looked at: %v", err)
	} else {
		f.Close()
	}
	if dir, err := b.Duplicate(ctx, nil); err != nil {
		t.Errorf("it cannot be duplicated: %v", err)
	} else if m, err := machine.Load(dir); err != nil || len(m.Takes) != 1 {
		t.Errorf("the copy: %v", err)
	}
}
