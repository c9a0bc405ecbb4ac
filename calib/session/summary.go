package session

import (
	"os"
	"path/filepath"
	"slices"
	"time"
)

// LastTake returns when the last take was recorded; the zero time before the first.
func (s Session) LastTake() time.Time { return s.latest(len(s.Takes)) }

// SongNames returns the names of the songs that the set list and the takes name,
// once each.
func (s Session) SongNames() (names []string) {
	add := func(name string) {
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, song := range s.Songs {
		add(song.Name)
	}
	for _, t := range s.Takes {
		add(t.Target.Song)
	}
	add(s.Target.Song)
	return names
}

// Stamp tells one save of a session from another.
type Stamp struct {
	at   time.Time
	size int64
}

// StampOf returns the stamp of the session in dir, without reading it; its zero value
// where there is none.
func StampOf(dir string) Stamp {
	info, err := os.Stat(filepath.Join(dir, fileName))
	if err != nil {
		return Stamp{}
	}
	return Stamp{info.ModTime(), info.Size()}
}
