package machine

import (
	"errors"
	"io/fs"
	"path/filepath"
	"syscall"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// save makes next the machine of dir and previous its backup. Both are
// complete on disk before the first is renamed, so a full disk changes nothing.
func save(dir string, next, previous []byte) error {
	backup, err := atomicfile.Prepare(filepath.Join(dir, backupName), atomicfile.Bytes(previous))
	if err != nil {
		return saveError(dir, err)
	}
	defer backup.Discard()
	current, err := atomicfile.Prepare(filepath.Join(dir, fileName), atomicfile.Bytes(next))
	if err != nil {
		return saveError(dir, err)
	}
	defer current.Discard()
	if err := backup.Commit(); err != nil {
		return saveError(dir, err)
	}
	if err := current.Commit(); err != nil {
		return saveError(dir, err)
	}
	return nil
}

func saveError(dir string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return i18n.Errorf("the machine folder %s is not there any more: plug its disk in again, or give the folder its name back, and try once more; what was saved before is where it was: %w", dir, err)
	}
	if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return i18n.Errorf("the machine folder %s cannot be written to: make it writable, or copy it to where it is: %w", dir, err)
	}
	return i18n.Errorf("the machine in %s could not be saved, the save before still holds: check that the disk is there and has room: %w", dir, err)
}
