package session

import (
	"os"
	"path/filepath"
	"slices"
	"time"
)

// LastTake returns when the last take was recorded; the zero time before the first.
func (s Session) LastTake() time.Time {
	var last time.Time
	for _, t := range s.Takes {
		if t.At.After(last) {
			last = t.At
		}
	}
	return last
}

// Tempos returns how many tempos the session is about, those of its songs and of the
// takes that count, and how many of them are tight: every voice that was asked for
// at such a tempo has a setting there.
func (s Session) Tempos() (tight, all int) {
	type ask struct {
		bpm   float64
		voice string
	}
	open := map[ask]bool{} // true while it has no setting
	for _, song := range s.Songs {
		voices := song.Voices
		if len(voices) == 0 {
			voices = s.Machine.Voices
		}
		for _, v := range voices {
			open[ask{song.TempoBPM, v}] = true
		}
	}
	for _, t := range s.Takes {
		if t.LeftOut {
			continue
		}
		for _, v := range t.Voices() {
			open[ask{t.Target.TempoBPM, v}] = true
		}
	}
	for _, one := range s.Settings() {
		open[ask{one.Target.TempoBPM, one.Target.Voice}] = false
	}
	tempos := map[float64]bool{} // true where all is tight
	for a, is := range open {
		before, known := tempos[a.bpm]
		tempos[a.bpm] = !is && (before || !known)
	}
	for _, is := range tempos {
		if is {
			tight++
		}
	}
	return tight, len(tempos)
}

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
