package machine

import (
	"path/filepath"

	"github.com/gofrs/flock"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// acquire takes the lock of a folder that must be writable.
func acquire(dir string) (*Folder, error) {
	if err := probe(dir); err != nil {
		return nil, saveError(dir, err)
	}
	f := &Folder{dir: dir, lock: flock.New(filepath.Join(dir, lockName), flock.SetPermissions(0o644))} // another account may lock it too
	if err := lockFolder(f); err != nil {
		return nil, err
	}
	return f, nil
}

// probe tries to make a file in dir; a folder's permission bits do not tell.
func probe(dir string) error {
	p, err := atomicfile.Prepare(filepath.Join(dir, "probe"), atomicfile.Bytes(nil))
	if err != nil {
		return err
	}
	p.Discard()
	return nil
}

// lockFolder locks f against other windows, or says why not.
func lockFolder(f *Folder) error {
	locked := false
	err := atomicfile.Touch(atomicfile.OpLock, f.lock.Path(), func() (err error) {
		locked, err = f.lock.TryLock()
		return err
	})
	switch {
	case err != nil:
		return i18n.Errorf("the machine folder %s cannot be locked against other windows: copy it to a disk of this computer: %w", f.dir, err)
	case !locked:
		return i18n.Errorf("machine folder %s: %w", f.dir, ErrLocked)
	}
	return nil
}
