package bench

import (
	"bytes"
	"context"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// SetList stands for the set list and all else of the session but its takes' hits,
// where Undo, Redo, CanUndo and CanRedo ask for the id of a take.
const SetList = 0

// EditSongs changes the set list, in one: Undo takes all of it back, until the
// session is closed. It changes all or nothing.
func (b *Bench) EditSongs(edits ...session.SongEdit) error {
	return b.changed(context.Background(), editSongs(edits...))
}

func editSongs(edits ...session.SongEdit) change {
	return func(_ context.Context, s *session.Session) (change, error) {
		before := s.Songs
		return editSongs(session.ReplaceSongs(before)), s.EditSongs(edits...)
	}
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

// ImportSongs makes the set list in the CSV file at path that of the session; see
// session.ReadSongs for what it may look like. Undo takes it back in one.
func (b *Bench) ImportSongs(path string) error {
	f, _, err := atomicfile.Open(path)
	if err != nil {
		return i18n.Errorf("the set list %s cannot be opened: %w", path, err)
	}
	defer f.Close()
	songs, err := session.ReadSongs(f, b.Session().Machine.Voices)
	if err != nil {
		return i18n.Errorf("the set list %s was not imported: %w", path, err)
	}
	return b.EditSongs(session.ReplaceSongs(songs))
}

// ExportSongs writes the set list as CSV to the file at path, whole or not at all.
func (b *Bench) ExportSongs(path string) error {
	var text bytes.Buffer
	err := session.WriteSongs(&text, b.Session().Songs)
	if err == nil {
		err = atomicfile.Write(path, atomicfile.Bytes(text.Bytes()))
	}
	if err != nil {
		return i18n.Errorf("the set list was not exported to %s: %w", path, err)
	}
	return nil
}
