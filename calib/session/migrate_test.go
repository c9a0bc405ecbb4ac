package session

import (
	"bytes"
	"encoding/json"
	"errors"
	"path/filepath"
	"testing"

	"lagwright/internal/diskfault"
)

// withSteps pretends that this is a later Lagwright, until the test ends.
func withSteps(t *testing.T, more ...func(map[string]json.RawMessage) error) {
	t.Helper()
	was := steps
	steps = append(steps[:len(steps):len(steps)], more...)
	t.Cleanup(func() { steps = was })
}

// A session of an earlier version is brought to this one step by step; the file as it
// was stays beside it from the first save on.
func TestEarlierVersionIsMigrated(t *testing.T) {
	original := bytes.Replace(own(t).data, []byte(`"tolerance_ms"`), []byte(`"limit_ms"`), 1)
	withSteps(t,
		func(top map[string]json.RawMessage) error { // the tolerance was called otherwise
			top["tolerance_ms"] = top["limit_ms"]
			delete(top, "limit_ms")
			return nil
		},
		func(top map[string]json.RawMessage) error { top["notes"] = []byte(`"third"`); return nil },
	)
	dir := t.TempDir()
	lay(t, dir, map[string]string{fileName: string(original), "take-001.wav": "", "take-002.wav": ""})
	if s, err := Load(dir); err != nil || s.ToleranceMS != sample().ToleranceMS || s.Notes != "third" {
		t.Fatalf("loaded %+v, %v", s, err)
	}
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got := contents(t, dir); got[fileName] != string(original) {
		t.Error("opening alone changed it")
	}
	for range 3 { // the original is kept once, however many saves fail
		_, err := diskfault.Break(dir, 9, diskfault.Full, func() {
			if f.Update(named("no room")) == nil {
				t.Error("no error")
			}
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(f.Update(named("anew")), f.Update(named("and again"))); err != nil {
		t.Fatal(err)
	}
	got := contents(t, dir)
	if got["session.version-1.json"] != string(original) {
		t.Errorf("the original is kept as %q", got["session.version-1.json"])
	}
	if versionOf([]byte(got[fileName])) != 3 || got["session.version-1-2.json"] != "" {
		t.Errorf("saved as version %d, %d files", versionOf([]byte(got[fileName])), len(got))
	}
	if s, err := Load(dir); err != nil || s.Name != "and again" || s.ToleranceMS != sample().ToleranceMS || s.Notes != "third" || len(s.extra) > 0 {
		t.Errorf("loaded %+v, %v", s, err)
	}
	tried(t, "session of an earlier version", 1, "migrated, and kept as it was")
}

// One that cannot be brought to this version stays as it is.
func TestMigrationThatFails(t *testing.T) {
	original := string(own(t).data)
	withSteps(t, func(map[string]json.RawMessage) error { return errors.New("there is no way") })
	dir := t.TempDir()
	lay(t, dir, map[string]string{fileName: original})
	_, err := Open(dir)
	wantSentence(t, err, filepath.Join(dir, fileName), "from version 1 to 2: there is no way")
	if got := contents(t, dir); got[fileName] != original {
		t.Errorf("it became %q", got[fileName])
	}
}
