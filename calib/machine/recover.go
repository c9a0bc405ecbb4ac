package machine

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Codes of the warnings that Open gives.
const (
	WarnUnfinishedSave = "unfinished-save" // a save was cut off; the one before it holds
	WarnDamaged        = "damaged-machine" // machine.json was damaged; the backup took its place
	WarnLastGood       = "last-good"       // machine.json is damaged; the backup is shown, and cannot take its place
	WarnMissingTake    = "missing-take"    // a take's WAV file is gone
)

// load reads the machine, from its backup if need be, and mends a folder that is locked. One
// that is only read may be a later Lagwright's as well, where all that this one knows is there.
func (f *Folder) load() error {
	newest, path := version, filepath.Join(f.dir, fileName)
	if f.readOnly != nil {
		newest = math.MaxInt
	}
	now, data, damage := read(f.dir, fileName, newest)
	err := damage
	if data == nil && f.readOnly == nil && !errors.Is(err, fs.ErrNotExist) { // a file that may not be read is not damaged
		return i18n.Errorf("%s cannot be read: check who may read it and that the disk is sound: %w", path, err)
	}
	if err != nil && !errors.Is(err, ErrOutside) && !errors.Is(err, ErrNewer) {
		now, data, err = read(f.dir, backupName, newest)
	}
	switch {
	case errors.Is(err, ErrOutside):
		return err
	case errors.Is(err, ErrNewer):
		return i18n.Errorf("machine folder %s: %w", f.dir, err)
	case err != nil:
		return i18n.Errorf("%s is damaged and there is no good %s beside it: bring the folder back from a copy, or start a new machine and open the takes in it: %w", path, backupName, damage)
	}
	f.current, f.saved = now, data
	if f.readOnly == nil {
		if err := f.mend(path, damage); err != nil {
			return err
		}
		f.clean()
	} else if damage != nil {
		f.warn(WarnLastGood, i18n.Say("%s could not be read (%v). The save before it is shown.", fileName, damage))
	}
	f.missTakes()
	return nil
}

// mend puts a damaged file aside, and what was read instead in its place.
func (f *Folder) mend(path string, damage error) error {
	if damage == nil {
		return nil
	}
	aside, err := f.putAside(path)
	if err == nil {
		err = atomicfile.Write(path, atomicfile.Bytes(f.saved))
	}
	if err == nil && aside == "" {
		f.warn(WarnDamaged, i18n.Say("%s could not be read (%v). The save before it took its place. Check the last take and the last move.", fileName, damage))
	} else if err == nil {
		f.warn(WarnDamaged, i18n.Say("%s could not be read (%v). The save before it took its place; the damaged file is kept as %s. Check the last take and the last move.", fileName, damage, aside))
	}
	return saveError(f.dir, err)
}

// putAside renames a damaged file to a free name, which it returns; a file that is
// not there needs no other place.
func (f *Folder) putAside(path string) (name string, err error) {
	if !exists(f.dir, fileName) {
		return "", nil
	}
	stamp := time.Now().UTC().Format("20060102-150405")
	name = fmt.Sprintf("machine.damaged-%s.json", stamp)
	for n := 2; exists(f.dir, name); n++ {
		name = fmt.Sprintf("machine.damaged-%s-%d.json", stamp, n)
	}
	return name, atomicfile.Rename(path, filepath.Join(f.dir, name))
}

// clean removes temporary files that a crash left behind. One of the machine
// file with something in it was a save.
func (f *Folder) clean() {
	cutOff := false
	entries, _ := os.ReadDir(f.dir)
	for _, e := range entries {
		if !atomicfile.IsTemp(e.Name()) {
			continue
		}
		info, err := e.Info()
		save := strings.HasPrefix(e.Name(), "."+fileName)
		cutOff = cutOff || save && err == nil && info.Size() > 0
		clearOut(filepath.Join(f.dir, e.Name())) // one that stays does no harm
	}
	if cutOff {
		f.warn(WarnUnfinishedSave, i18n.Say("The last save was cut off. The machine stands as it was saved before. Check the last take and the last move."))
	}
}

// mostMissed is how many missing takes are named one by one.
const mostMissed = 10

// missTakes warns of takes whose WAV file is gone.
func (f *Folder) missTakes() {
	missed := 0
	for _, t := range f.current.Takes {
		_, err := os.Stat(f.TakePath(t))
		if err == nil {
			continue
		}
		if missed++; missed <= mostMissed {
			f.warn(WarnMissingTake, i18n.Say("The sound of take %d, %s, is not in the folder. Its reading is kept; bring the file back to see its trace.", t.ID, t.File))
		}
	}
	if more := missed - mostMissed; more > 0 {
		f.warn(WarnMissingTake, i18n.Say("%d more are missing too: bring the folder's recordings back.", more))
	}
}

func (f *Folder) warn(code string, told i18n.Message) {
	f.warnings = append(f.warnings, calib.Warn(code, told))
}

// OpenOrRead opens a machine folder as Open does, or to be read only where another
// window has it, nothing can be written there, or a later Lagwright saved it:
// ReadOnly then says why. Opened so, it holds no lock and changes no file of the machine.
func OpenOrRead(dir string) (*Folder, error) {
	f, unchangeable, err := open(dir)
	if unchangeable == nil {
		return f, err
	}
	f = &Folder{dir: dir, readOnly: i18n.Errorf("the machine can only be read: %w", unchangeable)}
	if why := f.load(); errors.Is(why, ErrOutside) {
		return nil, why
	} else if why != nil {
		return nil, unchangeable
	}
	return f, nil
}

// ReadOnly returns a sentence that says why the machine can only be read; nil where
// it can be changed.
func (f *Folder) ReadOnly() error { return f.readOnly }

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

// save makes next the machine of dir and previous its backup. Both are
// complete on disk before the first is renamed, so a full disk changes nothing.
func save(dir string, next, previous []byte) (err error) {
	defer func() { err = saveError(dir, err) }()
	backup, err := atomicfile.Prepare(filepath.Join(dir, backupName), atomicfile.Bytes(previous))
	if err != nil {
		return err
	}
	defer backup.Discard()
	current, err := atomicfile.Prepare(filepath.Join(dir, fileName), atomicfile.Bytes(next))
	if err != nil {
		return err
	}
	defer current.Discard()
	if err := backup.Commit(); err != nil {
		return err
	}
	return current.Commit()
}

// saveError says why a folder could not be written to; nil for nil.
func saveError(dir string, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrNotExist):
		return i18n.Errorf("the machine folder %s is not there any more: plug its disk in again, or give the folder its name back, and try once more; what was saved before is where it was: %w", dir, err)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return i18n.Errorf("the machine folder %s cannot be written to: make it writable, or copy it to where it is: %w", dir, err)
	}
	return i18n.Errorf("the machine in %s could not be saved, the save before still holds: check that the disk is there and has room: %w", dir, err)
}
