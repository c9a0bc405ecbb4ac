package machine

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/gofrs/flock"
)

// DefaultRoot returns the folder that new machine folders go into unless the
// builder chose another: $LAGWRIGHT_HOME, or Lagwright in the home folder, or
// Lagwright in the working folder where there is no home.
func DefaultRoot() string {
	if root := os.Getenv("LAGWRIGHT_HOME"); root != "" {
		return root
	}
	home, err := os.UserHomeDir()
	if err != nil {
		home = "."
	}
	return filepath.Join(home, "Lagwright")
}

// FreeDir returns a path in root, not taken yet, for a machine of that name.
// The last element is a file name on every system.
func FreeDir(root, name string) string {
	base := dirName(name)
	dir := filepath.Join(root, base)
	for n := 2; exists(root, filepath.Base(dir)); n++ {
		dir = filepath.Join(root, fmt.Sprintf("%s %d", base, n))
	}
	return dir
}

// maxDirName is how many bytes of a name are used: systems stop at 255, and
// some count the whole path.
const maxDirName = 80

// reserved are names that Windows keeps for devices, whatever the extension
// (Microsoft Learn, "Naming Files, Paths, and Namespaces").
var reserved = []string{
	"CON", "PRN", "AUX", "NUL",
	"COM1", "COM2", "COM3", "COM4", "COM5", "COM6", "COM7", "COM8", "COM9",
	"LPT1", "LPT2", "LPT3", "LPT4", "LPT5", "LPT6", "LPT7", "LPT8", "LPT9",
}

// dirName keeps letters, digits and a few marks of a name and puts - for each
// run of the rest. Dots go too: some systems hide a name that starts with one
// and others drop one at the end.
func dirName(name string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToValidUTF8(name, "-") {
		keep := unicode.IsLetter(r) || unicode.IsMark(r) || unicode.IsDigit(r) || strings.ContainsRune(" -_+(),", r)
		if b.Len() > maxDirName {
			break
		}
		switch {
		case keep:
			b.WriteRune(r)
		case !gap:
			b.WriteByte('-')
		}
		gap = !keep
	}
	base := strings.Trim(b.String(), " -")
	if base == "" || slices.Contains(reserved, strings.ToUpper(base)) {
		base = strings.TrimSpace("machine " + base)
	}
	return base
}

// Shelf returns the machine folders that lie in root, the one saved last first.
func Shelf(root string) (dirs []string) {
	entries, _ := os.ReadDir(root) // one that is not there has none
	for _, e := range entries {
		if dir := filepath.Join(root, e.Name()); !strings.HasPrefix(e.Name(), ".") && IsIn(dir) {
			dirs = append(dirs, dir)
		}
	}
	slices.SortStableFunc(dirs, func(a, b string) int { return StampOf(b).at.Compare(StampOf(a).at) })
	return dirs
}

// Stamp tells one save of a machine from another.
type Stamp struct {
	at   time.Time
	size int64
}

// StampOf returns the stamp of the machine in dir, without reading it; its zero value
// where there is none.
func StampOf(dir string) Stamp {
	info, err := os.Stat(filepath.Join(dir, fileName))
	if err != nil {
		return Stamp{}
	}
	return Stamp{info.ModTime(), info.Size()}
}

// Held reports whether a machine folder is locked, by another window or by this one, or can
// not be. It writes nothing.
func Held(dir string) bool {
	lock := flock.New(filepath.Join(dir, lockName), flock.SetFlag(os.O_RDONLY))
	free, err := lock.TryRLock()
	return !free && !errors.Is(err, fs.ErrNotExist) || lock.Unlock() != nil
}
