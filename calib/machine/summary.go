package machine

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// LastTake returns when the last take was recorded; the zero time before the first.
func (m Machine) LastTake() time.Time { return m.latest(len(m.Takes)) }

// SongNames returns the names of the songs that the machine plays and that its takes name.
func (m Machine) SongNames() (names []string) {
	for _, song := range m.Songs {
		names = append(names, song.Name)
	}
	for _, t := range m.Takes {
		names = append(names, t.Target.Song)
	}
	return append(names, m.Target.Song)
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
