package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/internal/must"
)

// TestPagesAreShort: somebody reads them in one go.
func TestPagesAreShort(t *testing.T) {
	for page, most := range map[string]int{"README.md": 6 << 10, "DEVELOPERS.md": 12000} {
		if text, err := os.ReadFile(filepath.Join(houseRoot(t), page)); err != nil || len(text) > most {
			t.Errorf("%s has %d bytes (%v): %d at most, and the handbook or the packages' comments have the rest", page, len(text), err, most)
		}
	}
}

// TestReadmeCommands: the two commands on the README are verbs.
func TestReadmeCommands(t *testing.T) {
	text := must.Get(os.ReadFile(filepath.Join(houseRoot(t), "README.md")))(t)
	for _, name := range []string{"run", "test"} {
		if !strings.Contains(string(text), "\n    go run ./cmd/dev "+name+" ") {
			t.Errorf("the README does not show %s", name)
		}
		if _, ok := verbCalled(name); !ok {
			t.Errorf("there is no verb %s", name)
		}
	}
}

// TestQuickTestsNeedNoC: what test -quick tests is all there without C; go list fails
// on a package none of whose files is left.
func TestQuickTestsNeedNoC(t *testing.T) {
	if testing.Short() {
		t.Skip("builds all that needs no C")
	}
	args := []string{"-deps", "-test"}
	for _, r := range ours(t) {
		if pkg := short(r.ImportPath); pkg != needC[0] && pkg != needC[1] {
			args = append(args, r.ImportPath)
		}
	}
	rooms := must.Get(listed("CGO_ENABLED=0", args...))(t)
	for _, r := range rooms {
		if len(r.CgoFiles) > 0 {
			t.Errorf("%s still has C in it", r.ImportPath)
		}
	}
}
