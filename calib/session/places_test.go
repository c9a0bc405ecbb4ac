package session

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
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
		if err := os.Mkdir(got, 0o755); err != nil {
			t.Fatal(err)
		}
	}
}

func TestEveryNameMakesAFolder(t *testing.T) {
	root := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.OneOf(rapid.String(), rapid.StringN(100, 400, -1)).Draw(t, "name")
		dir := FreeDir(root, name)
		base := filepath.Base(dir)
		if filepath.Dir(dir) != root || !inside(base) || !utf8.ValidString(base) || len(base) > 100 {
			t.Fatalf("%q", dir)
		}
		if strings.ContainsAny(base, `<>:"/\|?*.`) || strings.TrimSpace(base) != base {
			t.Fatalf("%q is not a name on every system", base)
		}
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		if FreeDir(root, name) == dir {
			t.Fatalf("%q is taken", dir)
		}
		if err := os.Remove(dir); err != nil {
			t.Fatal(err)
		}
	})
}

func TestRecents(t *testing.T) {
	config := filepath.Join(t.TempDir(), "new", "config")
	t.Setenv("LAGWRIGHT_CONFIG", config)
	if got := Recents(); len(got) != 0 {
		t.Errorf("before the first: %+v", got)
	}
	root := t.TempDir()
	for i := range maxRecents + 2 {
		s := sample()
		s.Machine.Name = fmt.Sprint(i)
		dir := FreeDir(root, s.Machine.Name)
		f, err := Create(dir, s)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(Remember(dir), f.Close()); err != nil { // while it is open
			t.Fatal(err)
		}
	}
	wantNames(t, 21, 20, 19, 18, 17, 16, 15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2)
	if got := Recents()[0]; got.Dir != filepath.Join(root, "21") || got.Missing || got.Opened.IsZero() {
		t.Errorf("newest: %+v", got)
	}
	if err := errors.Join(Remember(filepath.Join(root, "5")), Forget(filepath.Join(root, "21"))); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(root, "20")); err != nil {
		t.Fatal(err)
	}
	wantNames(t, 5, 20, 19, 18, 17, 16, 15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 4, 3, 2)
	for _, r := range Recents() {
		if r.Missing != (r.Name == "20") {
			t.Errorf("%s: missing %v", r.Name, r.Missing)
		}
	}
	if err := Remember(filepath.Join(root, "20")); !errors.Is(err, ErrNoSession) {
		t.Errorf("remembered a folder without a session: %v", err)
	}
	if err := os.WriteFile(filepath.Join(config, recentsName), []byte("{"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Remember(filepath.Join(root, "7")); err != nil {
		t.Fatal(err)
	}
	wantNames(t, 7)
}

func wantNames(t *testing.T, want ...int) {
	t.Helper()
	var got []string
	for _, r := range Recents() {
		got = append(got, r.Name)
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("recents %v, want %v", got, want)
	}
}

func TestRecentsWithoutAPlace(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	t.Setenv("LAGWRIGHT_CONFIG", file)
	wantSentence(t, Forget("anything"), file, "could not be changed")
}
