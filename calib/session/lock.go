package session

import (
	"path/filepath"

	"github.com/gofrs/flock"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// errNotOurs is wrapped by the error for a folder that cannot be locked or written to.
var errNotOurs = i18n.Fixed(i18n.Say("it cannot be changed"))

// acquire takes the lock of a folder that must be writable.
func acquire(dir string) (*Folder, error) {
	if err := probe(dir); err != nil {
		return nil, ours(saveError(dir, err))
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
		return i18n.Errorf("the machine folder %s cannot be locked against other windows: copy it to a disk of this computer: %w", f.dir, ours(err))
	case !locked:
		return i18n.Errorf("machine folder %s: %w", f.dir, ErrLocked)
	}
	return nil
}

// ours adds to an error that the folder cannot be changed.
func ours(err error) error { return notOurs{err} }

type notOurs struct{ error }

func (n notOurs) Unwrap() error        { return n.error }
func (n notOurs) Is(target error) bool { return target == errNotOurs }
