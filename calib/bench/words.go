package bench

import (
	"context"
	"slices"
	"strings"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// Rename gives the session another name; its folder keeps its own. Undo takes it
// back.
func (b *Bench) Rename(name string) error {
	name = strings.TrimSpace(name)
	if name == "" {
		return i18n.Errorf("the session needs a name: type one")
	}
	return b.changed(context.Background(), rename(name))
}

func rename(name string) change {
	return func(_ context.Context, s *session.Session) (change, error) {
		before := s.Name
		s.Name = name
		return rename(before), nil
	}
}

// Note keeps the builder's own words on the session, in place of those before. Undo
// takes it back.
func (b *Bench) Note(words string) error {
	return b.changed(context.Background(), note(strings.TrimSpace(words)))
}

func note(words string) change {
	return func(_ context.Context, s *session.Session) (change, error) {
		before := s.Notes
		s.Notes = words
		return note(before), nil
	}
}

// NoteTake does the same for the take with the given id.
func (b *Bench) NoteTake(id int, words string) error {
	return b.changed(context.Background(), noteTake(id, strings.TrimSpace(words)))
}

func noteTake(id int, words string) change {
	return func(_ context.Context, s *session.Session) (change, error) {
		i := slices.IndexFunc(s.Takes, func(t session.Take) bool { return t.ID == id })
		if i < 0 {
			return nil, i18n.Errorf("the session has no take %d: choose one of the list", id)
		}
		before := s.Takes[i].Notes
		s.Takes[i].Notes = words
		return noteTake(id, before), nil
	}
}

// Export writes the session and its takes into one zip; see session.Folder.Export.
func (b *Bench) Export(ctx context.Context, path string, progress func(float64)) (missing []string, err error) {
	return b.folder.Export(ctx, path, progress)
}

// Duplicate copies the session and its takes into a new folder; see
// session.Folder.Duplicate.
func (b *Bench) Duplicate(ctx context.Context, progress func(float64)) (dir string, err error) {
	return b.folder.Duplicate(ctx, progress)
}
