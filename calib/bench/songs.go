package bench

import (
	"bytes"
	"fmt"
	"os"

	"lagwright/calib/session"
	"lagwright/calib/whole"
)

// SetList stands for the set list where Undo, Redo, CanUndo and CanRedo ask for
// the id of a take.
const SetList = 0

// EditSongs changes the set list, in one: Undo takes all of it back, until the
// session is closed. It changes all or nothing.
func (b *Bench) EditSongs(edits ...session.SongEdit) error {
	before, err := b.putSongs(edits...)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.before, b.after = append(b.before, before), nil
	return nil
}

// putSongs changes the set list and returns the one before.
func (b *Bench) putSongs(edits ...session.SongEdit) (before []session.Song, err error) {
	err = b.folder.Update(func(s *session.Session) error {
		before = s.Songs
		return s.EditSongs(edits...)
	})
	return before, err
}

// CanUndo reports whether Undo has something to do.
func (b *Bench) CanUndo(id int) bool {
	if id == SetList {
		return b.any(&b.before)
	}
	for _, t := range b.Session().Takes {
		if t.ID == id {
			return t.ByHand != nil
		}
	}
	return false
}

func (b *Bench) any(lists *[][]session.Song) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(*lists) > 0
}

func (b *Bench) undoSongs() error { return b.swapSongs(&b.before, &b.after) }
func (b *Bench) redoSongs() error { return b.swapSongs(&b.after, &b.before) }

// swapSongs makes the last list of one pile the set list, and puts the one it
// replaces on the other.
func (b *Bench) swapSongs(from, to *[][]session.Song) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	last := len(*from) - 1
	if last < 0 {
		return nil
	}
	now, err := b.putSongs(session.ReplaceSongs((*from)[last]))
	if err != nil {
		return err
	}
	*from, *to = (*from)[:last], append(*to, now)
	return nil
}

// ImportSongs makes the set list in the CSV file at path that of the session; see
// session.ReadSongs for what it may look like. Undo takes it back in one.
func (b *Bench) ImportSongs(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("the set list %s cannot be opened: %w", path, err)
	}
	defer f.Close()
	songs, err := session.ReadSongs(f, b.Session().Machine.Voices)
	if err != nil {
		return fmt.Errorf("the set list %s was not imported: %w", path, err)
	}
	return b.EditSongs(session.ReplaceSongs(songs))
}

// ExportSongs writes the set list as CSV to the file at path, whole or not at all.
func (b *Bench) ExportSongs(path string) error {
	var text bytes.Buffer
	err := session.WriteSongs(&text, b.Session().Songs)
	if err == nil {
		err = whole.Write(path, whole.Bytes(text.Bytes()))
	}
	if err != nil {
		return fmt.Errorf("the set list was not exported to %s: %w", path, err)
	}
	return nil
}
