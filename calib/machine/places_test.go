package machine

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

func TestDefaultRoot(t *testing.T) {
	t.Setenv("LAGWRIGHT_HOME", "/somewhere")
	if got := DefaultRoot(); got != "/somewhere" {
		t.Errorf("got %s", got)
	}
	t.Setenv("LAGWRIGHT_HOME", "")
	home, err := os.UserHomeDir()
	if err != nil {
		t.Skip("no home folder here")
	}
	if got := DefaultRoot(); got != filepath.Join(home, "Lagwright") {
		t.Errorf("got %s", got)
	}
}

func TestFreeDir(t *testing.T) {
	root := t.TempDir()
	cases := map[string]string{
		"Barn machine":     "Barn machine",
		"  Müllers Walzer": "Müllers Walzer",
		"a/b\\c:d*?e":      "a-b-c-d-e",
		"../../etc":        "etc",
		"...":              "machine",
		"":                 "machine",
		"nul":              "machine nul",
		"Com1.":            "machine Com1",
		"ends with dot.":   "ends with dot",
		"tab\tand\x00nul":  "tab-and-nul",
		"\xff":             "machine",
	}
	for name, want := range cases {
		if got := FreeDir(root, name); got != filepath.Join(root, want) {
			t.Errorf("%q: got %q, want %q", name, got, want)
		}
	}
	for _, want := range []string{"tune", "tune 2", "tune 3"} {
		got := FreeDir(root, "tune")
		if got != filepath.Join(root, want) {
			t.Errorf("got %q, want %q", got, want)
		}
		must.Do(t, os.Mkdir(got, 0o755))
	}
}

func TestEveryNameMakesAFolder(t *testing.T) {
	root := t.TempDir()
	deeptest.Check(t, func(t *rapid.T) {
		name := rapid.OneOf(rapid.String(), rapid.StringN(100, 400, -1)).Draw(t, "name")
		dir := FreeDir(root, name)
		base := filepath.Base(dir)
		if filepath.Dir(dir) != root || !inside(base) || !utf8.ValidString(base) || len(base) > 100 {
			t.Fatalf("%q", dir)
		}
		if strings.ContainsAny(base, `<>:"/\|?*.`) || strings.TrimSpace(base) != base {
			t.Fatalf("%q is not a name on every system", base)
		}
		must.Do(t, os.Mkdir(dir, 0o755))
		if FreeDir(root, name) == dir {
			t.Fatalf("%q is taken", dir)
		}
		must.Do(t, os.Remove(dir))
	})
}

// The shelf is what lies in the folder: put a machine folder there and it is on it.
func TestShelf(t *testing.T) {
	root := filepath.Join(t.TempDir(), "machines")
	if got := Shelf(root); len(got) != 0 {
		t.Errorf("where there is no folder: %q", got)
	}
	at := time.Now().Add(-time.Hour)
	for i, name := range []string{"Barn machine", "Cart", ".machine-2.new.tmp"} {
		f := must.Get(Create(filepath.Join(root, name), sample()))(t)
		defer f.Close() // listed while it is open
		saved := at.Add(time.Duration(i) * time.Minute)
		must.Do(t, os.Chtimes(filepath.Join(f.Dir(), fileName), saved, saved))
	}
	must.Do(t, errors.Join(os.Mkdir(filepath.Join(root, "notes"), 0o755), os.WriteFile(filepath.Join(root, "list.txt"), nil, 0o644)))
	if got, want := Shelf(root), []string{filepath.Join(root, "Cart"), filepath.Join(root, "Barn machine")}; !slices.Equal(got, want) {
		t.Errorf("the shelf is %q, want %q", got, want)
	}
}

func TestStampTellsSavesApart(t *testing.T) {
	f := create(t, sample())
	before := StampOf(f.Dir())
	if before == (Stamp{}) || StampOf(f.Dir()) != before {
		t.Error("the stamp of a save changes by itself")
	}
	must.Do(t, f.Update(named("Another")))
	later := time.Now().Add(time.Second)
	must.Do(t, os.Chtimes(filepath.Join(f.Dir(), fileName), later, later))
	if StampOf(f.Dir()) == before || StampOf(t.TempDir()) != (Stamp{}) {
		t.Error("another save has the same stamp, or none has one")
	}
}
