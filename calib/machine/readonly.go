package machine

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"

	"lagwright/calib/i18n"
)

// WarnLastGood is the code of the warning that a damaged machine is shown as its
// backup has it, where that cannot be put in its place.
const WarnLastGood = "last-good"

// OpenOrRead opens a machine folder as Open does, or to be read only where another
// window has it, nothing can be written there, or a later Lagwright saved it:
// ReadOnly then says why. Opened so, it holds no lock and changes no file of the machine.
func OpenOrRead(dir string) (*Folder, error) {
	f, unchangeable, err := open(dir)
	if unchangeable == nil {
		return f, err
	}
	f = &Folder{dir: dir, readOnly: i18n.Errorf("the machine can only be read: %w", unchangeable)}
	if why := f.look(); errors.Is(why, ErrOutside) {
		return nil, why
	} else if why != nil {
		return nil, unchangeable
	}
	return f, nil
}

// ReadOnly returns a sentence that says why the machine can only be read; nil where
// it can be changed.
func (f *Folder) ReadOnly() error { return f.readOnly }

// look reads the machine without mending anything.
func (f *Folder) look() error {
	var last error
	for _, name := range []string{fileName, backupName} {
		m, data, err := read(f.dir, name, math.MaxInt) // of a later Lagwright as well, where all that this one knows is there
		if err != nil && !errors.Is(err, ErrOutside) {
			last = err
			continue
		}
		if err != nil {
			return err
		}
		if name == backupName {
			f.warn(WarnLastGood, i18n.Say("%s could not be read (%v). The save before it is shown.", fileName, last))
		}
		f.current, f.saved = m, data
		f.missTakes()
		return nil
	}
	return last
}

// undisturbed refuses to save over what somebody else has made of machine.json since
// it was read or written here: another window after a lock was lost, or a program that
// keeps folders alike. A save that was said to fail may have been done all the same,
// and those after it not.
func (f *Folder) undisturbed() error {
	path := filepath.Join(f.dir, fileName)
	data, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil // where there is none, nothing is overwritten
	case err != nil:
		return i18n.Errorf("%s cannot be read: check who may read it and that the disk is sound: %w", path, err)
	case bytes.Equal(data, f.saved) || f.tried[sha256.Sum256(data)]:
		return nil
	}
	return i18n.Errorf("%s was changed by another program since it was opened here, and is not overwritten: close the machine and open it again", path)
}
