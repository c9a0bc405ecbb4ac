package machine

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"lagwright/internal/must"
)

// A machine that leads out of its folder is refused, whichever part of it does.
func TestLinksThatLeadOut(t *testing.T) {
	outside := t.TempDir()
	data := string(own(t).data)
	lay(t, outside, map[string]string{"machine.json": data, "x.wav": outsideText, "lock": ""})
	cases := []struct{ at, to string }{
		{"take-001.wav", filepath.Join(outside, "x.wav")},
		{"take-002.wav", filepath.Join(outside, "not there")},
		{fileName, filepath.Join(outside, "machine.json")},
		{backupName, filepath.Join(outside, "machine.json")},
		{lockName, filepath.Join(outside, "lock")},
		{lockName, filepath.Join(outside, "to be made")},
	}
	for _, c := range cases {
		dir := t.TempDir()
		lay(t, dir, map[string]string{fileName: data, "take-001.wav": "", "take-002.wav": ""})
		os.Remove(filepath.Join(dir, c.at))
		link(t, c.to, filepath.Join(dir, c.at))
		before, beyond := everything(t, dir), everything(t, outside)
		for name, open := range map[string]func() error{
			"Open":       func() error { _, err := Open(dir); return err },
			"OpenOrRead": func() error { _, err := OpenOrRead(dir); return err },
			"Load":       func() error { _, err := Load(dir); return err },
		} {
			err := open()
			wantSentence(t, err, filepath.Join(dir, c.at), "link to something outside", "put the file itself in its place")
			if !errors.Is(err, ErrOutside) {
				t.Errorf("%s, %s: not ErrOutside", name, c.at)
			}
		}
		after := everything(t, dir)
		delete(after, lockName) // taken to look
		delete(before, lockName)
		if !reflect.DeepEqual(after, before) || !reflect.DeepEqual(everything(t, outside), beyond) {
			t.Errorf("%s: changed to %q and %q", c.at, after, everything(t, outside))
		}
	}
	tried(t, "machine folder with a link that leads out", len(cases), "refused with a sentence")
}

// So it is where another window has the machine open: closing that would help nobody.
func TestLinkThatLeadsOutOfOneInUse(t *testing.T) {
	f := create(t, sample())
	path := filepath.Join(f.Dir(), "take-001.wav")
	link(t, filepath.Join(t.TempDir(), "x.wav"), path)
	_, err := OpenOrRead(f.Dir())
	wantSentence(t, err, path, "link to something outside")
	if !errors.Is(err, ErrOutside) {
		t.Errorf("not ErrOutside: %v", err)
	}
}

// A damaged machine whose backup leads out is left as it is; once the link is gone the
// backup takes its place, and that is said.
func TestBackupThatLeadsOut(t *testing.T) {
	outside, dir := t.TempDir(), t.TempDir()
	lay(t, outside, map[string]string{"x.wav": outsideText})
	lay(t, dir, map[string]string{fileName: "{", backupName: string(own(t).data), "take-002.wav": "", lockName: ""})
	path := filepath.Join(dir, "take-001.wav")
	link(t, filepath.Join(outside, "x.wav"), path)
	before := everything(t, dir)
	for name, open := range map[string]func(string) (*Folder, error){"Open": Open, "OpenOrRead": OpenOrRead} {
		_, err := open(dir)
		wantSentence(t, err, path, "link to something outside")
		if after := everything(t, dir); !errors.Is(err, ErrOutside) || !reflect.DeepEqual(after, before) {
			t.Errorf("%s: changed to %q", name, after)
		}
	}
	must.Do(t, os.Remove(path))
	lay(t, dir, map[string]string{"take-001.wav": ""})
	f := must.Get(Open(dir))(t)
	defer f.Close()
	if w := f.Warnings(); len(w) != 1 || w[0].Code != WarnDamaged {
		t.Errorf("it warns %+v", w)
	}
	tried(t, "backup with a link that leads out", 1, "refused with a sentence, nothing written")
}

// A take whose file would lie elsewhere is no take of the machine.
func TestTakesThatLeadOut(t *testing.T) {
	names := []string{"../x.wav", "a/../../x.wav", "/etc/passwd", "//server/x.wav", `..\x.wav`, `C:\x.wav`, "C:x.wav", "..", ".", "", "a/", "./x.wav", "x.wav\x00.wav"}
	for _, name := range names {
		file := must.Get(json.Marshal(name))(t)
		dir := filepath.Join(t.TempDir(), "s")
		data := bytes.Replace(own(t).data, []byte(`"take-001.wav"`), file, 1)
		lay(t, dir, map[string]string{fileName: string(data), "../x.wav": outsideText})
		before := everything(t, filepath.Dir(dir))
		for _, open := range []func() error{
			func() error { _, err := Open(dir); return err },
			func() error { _, err := OpenOrRead(dir); return err },
			func() error { _, err := Load(dir); return err },
		} {
			wantSentence(t, open(), dir)
		}
		after := everything(t, filepath.Dir(dir))
		delete(after, filepath.Join("s", lockName))
		if !reflect.DeepEqual(after, before) {
			t.Errorf("%q: changed to %q", name, after)
		}
	}
	tried(t, "take whose file lies elsewhere", len(names), "refused with a sentence")
}

// A link to another file of its folder is harmless, and one that a new take would meet
// is gone round.
func TestLinksWithin(t *testing.T) {
	f := create(t, sample())
	lay(t, f.Dir(), map[string]string{"raw.wav": "RIFF", "take-002.wav": "RIFF"})
	link(t, "raw.wav", filepath.Join(f.Dir(), "take-001.wav"))
	link(t, filepath.Join(t.TempDir(), "gone.wav"), filepath.Join(f.Dir(), "take-003.wav"))
	if id, path := f.NewTake(); id != 4 {
		t.Errorf("the next take is %d at %s, where a link lies", id, path)
	}
	f.Close()
	g := must.Get(Open(f.Dir()))(t)
	defer g.Close()
	if _, err := g.Export(context.Background(), filepath.Join(t.TempDir(), "x.zip"), nil); err != nil {
		t.Error(err)
	}
}

// A link that comes while the machine is open, or that is a folder above the take, is
// not followed either.
func TestLinksThatComeLater(t *testing.T) {
	outside := t.TempDir()
	lay(t, outside, map[string]string{"take-001.wav": outsideText})
	f := create(t, sample())
	link(t, outside, filepath.Join(f.Dir(), "sub"))
	must.Do(t, f.Update(func(m *Machine) error { m.Takes[1].File = "sub/take-001.wav"; return nil }))
	for name, carry := range map[string]func() error{
		"export": func() error {
			_, err := f.Export(context.Background(), filepath.Join(t.TempDir(), "x.zip"), nil)
			return err
		},
		"duplicate": func() error { _, err := f.Duplicate(context.Background(), nil); return err },
		"load":      func() error { _, err := Load(f.Dir()); return err },
	} {
		err := carry()
		wantSentence(t, err, "take 2", filepath.Join(f.Dir(), "sub"))
		if !errors.Is(err, ErrOutside) {
			t.Errorf("%s: %v", name, err)
		}
	}
	wantOnly(t, filepath.Dir(f.Dir()), "s")
}
