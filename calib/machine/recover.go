package machine

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Codes of the warnings that Open gives.
const (
	WarnUnfinishedSave = "unfinished-save" // a save was cut off; the one before it holds
	WarnDamaged        = "damaged-machine" // machine.json was damaged; the backup took its place
	WarnMissingTake    = "missing-take"    // a take's WAV file is gone
)

// load reads the machine of a locked folder, from the backup if need be.
func (f *Folder) load() error {
	path := filepath.Join(f.dir, fileName)
	now, data, err := read(f.dir, fileName, version)
	switch {
	case err == nil:
		f.current = now
	case errors.Is(err, ErrOutside):
		return err
	case errors.Is(err, ErrNewer):
		return i18n.Errorf("machine folder %s: %w", f.dir, err)
	case data == nil && !errors.Is(err, fs.ErrNotExist): // a file that may not be read is not damaged
		return i18n.Errorf("%s cannot be read: check who may read it and that the disk is sound: %w", path, err)
	default:
		if data, err = f.restore(err); err != nil {
			return err
		}
	}
	f.saved = data
	f.clean()
	f.missTakes()
	return nil
}

// restore makes the backup the machine and puts the damaged file aside. It
// changes nothing unless the backup is good and stays inside its folder.
func (f *Folder) restore(damage error) ([]byte, error) {
	before, data, err := read(f.dir, backupName, version)
	path := filepath.Join(f.dir, fileName)
	switch {
	case errors.Is(err, ErrOutside):
		return nil, err
	case errors.Is(err, ErrNewer):
		return nil, i18n.Errorf("machine folder %s: %w", f.dir, err)
	case err != nil:
		return nil, i18n.Errorf("%s is damaged and there is no good %s beside it: bring the folder back from a copy, or start a new machine and open the takes in it: %w", path, backupName, damage)
	}
	f.current = before
	aside, err := f.putAside(path)
	if err != nil {
		return nil, saveError(f.dir, err)
	}
	if err := atomicfile.Write(path, atomicfile.Bytes(data)); err != nil {
		return nil, saveError(f.dir, err)
	}
	if aside == "" {
		f.warn(WarnDamaged, i18n.Say("%s could not be read (%v). The save before it took its place. Check the last take and the last move.", fileName, damage))
	} else {
		f.warn(WarnDamaged, i18n.Say("%s could not be read (%v). The save before it took its place; the damaged file is kept as %s. Check the last take and the last move.", fileName, damage, aside))
	}
	return data, nil
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
