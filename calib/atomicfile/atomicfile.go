// Package atomicfile writes files whole or not at all: under a hidden name in the
// same folder first, flushed to the disk, then renamed. It stands in for the
// libraries that do this because the best of them, renameio, does not build on
// Windows. Any package may use it.
//
// A program that is killed, or that runs out of room, leaves the file as it was before or
// as it is after, on every system. After a power cut it is whole as well, for what is in
// it was flushed before it got its name. Whether the last save is there differs:
//   - Linux, BSD: yes, once Commit has returned; the folder is flushed too.
//   - macOS: yes; Go flushes by F_FULLFSYNC, which reaches past the disk's own memory.
//   - Windows: it may be the save before. NTFS keeps renames whole by its log, which
//     it writes in its own time, and a folder cannot be flushed.
//
// Windows also lets nobody rename or replace a file that another program holds open
// without saying that it may be; see Rename and openToRead.
package atomicfile

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"lagwright/calib/i18n"
)

// tempSuffix ends the hidden name of a file that is being written.
const tempSuffix = ".whole.tmp"

// IsTemp reports whether a file name is that of a file being written, or left
// behind by a crash while it was.
func IsTemp(name string) bool {
	return strings.HasPrefix(name, ".") && strings.HasSuffix(name, tempSuffix)
}

// Pending is a complete, flushed file waiting to take its place.
type Pending struct {
	temp *os.File
	path string
}

// Prepare has fill write a new file for path and flushes it. What is at path
// stays until Commit. The errors of fill are returned as they are.
func Prepare(path string, fill func(io.WriteSeeker) error) (*Pending, error) {
	p, pattern := &Pending{path: path}, "."+filepath.Base(path)+".*"+tempSuffix
	err := Touch(OpCreate, pattern, func() (err error) {
		p.temp, err = os.CreateTemp(filepath.Dir(path), pattern)
		return err
	})
	if err == nil {
		err = fill(written{p.temp})
	}
	if err == nil {
		err = p.keep()
	}
	if err != nil {
		p.Discard()
		return nil, err
	}
	return p, nil
}

// keep has the disk keep the file with the permissions of the one that it replaces, and
// closes it.
func (p *Pending) keep() error {
	name := p.temp.Name()
	return errors.Join(
		Touch(OpMode, name, func() error { return p.temp.Chmod(modeFor(p.path)) }),
		Touch(OpSync, name, p.temp.Sync),
		Touch(OpClose, name, p.temp.Close),
	)
}

// Commit puts the file in its place in one step.
func (p *Pending) Commit() error {
	if err := Rename(p.temp.Name(), p.path); err != nil {
		return err
	}
	SyncDir(filepath.Dir(p.path))
	return nil
}

// Discard removes what has not been committed; after Commit it does nothing.
func (p *Pending) Discard() {
	if p.temp == nil {
		return // it could not be made
	}
	p.temp.Close() // fails harmlessly when closed already
	name := p.temp.Name()
	if _, err := os.Lstat(name); err == nil {
		Touch(OpRemove, name, func() error { return os.Remove(name) })
	}
}

// Write replaces the file at path with what fill writes.
func Write(path string, fill func(io.WriteSeeker) error) error {
	p, err := Prepare(path, fill)
	if err != nil {
		return err
	}
	defer p.Discard()
	return p.Commit()
}

// ErrNotPlain is what Open gives for a folder, pipe or device.
var ErrNotPlain = i18n.Fixed(i18n.Say("it is not a plain file"))

// Open opens a plain file to read, and returns its size in bytes. It asks before
// opening: opening a pipe would wait for its other end.
func Open(path string) (f *os.File, size int64, err error) {
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() {
		err = ErrNotPlain
	}
	if err != nil {
		return nil, 0, err
	}
	f, err = openToRead(path)
	return f, info.Size(), err
}

// openToRead opens a file so that it may be renamed, replaced or removed meanwhile.
// On Windows os.Open forbids that, and files opened in an os.Root allow it; a link
// that leads out of its folder is opened in the usual way.
func openToRead(path string) (*os.File, error) {
	if runtime.GOOS == "windows" {
		if f, err := os.OpenInRoot(filepath.Dir(path), filepath.Base(path)); err == nil {
			return f, nil
		}
	}
	return os.Open(path)
}

// Bytes returns a fill that writes data.
func Bytes(data []byte) func(io.WriteSeeker) error {
	return func(w io.WriteSeeker) error {
		_, err := w.Write(data)
		return err
	}
}

// Rename replaces a file. On Windows that fails while a virus scanner or an
// indexer looks at it, so tries during a second are worth their while there.
func Rename(from, to string) error {
	for wait := 10 * time.Millisecond; ; wait *= 2 {
		err := Between(Call{Op: OpRename, Path: from, To: to}, func() error { return os.Rename(from, to) })
		if err == nil || runtime.GOOS != "windows" || wait > time.Second/2 {
			return err
		}
		time.Sleep(wait)
	}
}

// modeFor keeps the permissions of the file to be replaced; a new one may be
// read by everyone, for the folder decides who gets in.
func modeFor(path string) fs.FileMode {
	if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() {
		return info.Mode().Perm()
	}
	return 0o644
}

// SyncDir makes a rename, or a new file, last through a power cut where the system
// can do so for a folder. Windows refuses, and the file is whole either way.
func SyncDir(dir string) {
	Touch(OpSyncFolder, dir, func() error {
		d, err := os.Open(dir)
		if err != nil {
			return err
		}
		return errors.Join(d.Sync(), d.Close())
	})
}
