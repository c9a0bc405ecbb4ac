package machine

import (
	"errors"
	"fmt"
	"io/fs"
	"lagwright/calib/i18n"
	"os"
	"path/filepath"
)

// ErrOutside is wrapped by the error for a machine folder that leads out of itself.
var ErrOutside = i18n.Fixed(i18n.Say("it is a link to something outside the machine folder, which is neither read nor written: put the file itself in its place"))

// plainFiles refuses a folder in which a link stands for one of the machine's own
// files: a save would write where it leads.
func plainFiles(dir string) error {
	for _, name := range []string{fileName, backupName, lockName} {
		info, err := os.Lstat(filepath.Join(dir, name))
		switch {
		case err != nil: // what is wrong with one that cannot be looked at, reading it says
		case info.Mode()&fs.ModeSymlink != 0:
			return fmt.Errorf("%s: %w", filepath.Join(dir, name), ErrOutside)
		case !info.Mode().IsRegular():
			return i18n.Errorf("%s is a folder or a device, not a file: move it away, or bring the machine folder back from a copy", filepath.Join(dir, name))
		}
	}
	return nil
}

// stayInside refuses a machine a take of which leads out of its folder.
func (m Machine) stayInside(dir string) error {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil // without their folder the takes are missing
	}
	defer root.Close()
	for _, t := range m.Takes {
		if err := leadsOut(root, t); err != nil {
			return err
		}
	}
	return nil
}

// leadsOut refuses a take whose file is a link, or lies behind one, that leads out of
// the machine folder. A link to a file within it is as good as the file.
func leadsOut(root *os.Root, t Take) error {
	file := filepath.FromSlash(t.File)
	if _, err := root.Stat(file); err == nil || errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	for part := file; part != "."; part = filepath.Dir(part) {
		if info, err := root.Lstat(part); err == nil && info.Mode()&fs.ModeSymlink != 0 {
			return i18n.Errorf("the sound of take %d, %s: %w", t.ID, filepath.Join(root.Name(), part), ErrOutside)
		}
	}
	return nil
}
