package bench

import "lagwright/calib/session"

// OpenOrRead opens the session folder at dir, to be read only where it cannot be
// changed: ReadOnly then says why.
func OpenOrRead(dir string) (*Bench, error) {
	folder, err := session.OpenOrRead(absolute(dir))
	if err != nil {
		return nil, err
	}
	return onto(folder), nil
}

// ReadOnly returns a sentence that says why the session can only be read; nil where
// it can be changed.
func (b *Bench) ReadOnly() error { return b.folder.ReadOnly() }
