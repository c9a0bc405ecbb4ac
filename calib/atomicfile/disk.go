package atomicfile

import (
	"errors"
	"os"
)

// Call is something that is asked of the disk.
type Call struct {
	Op   string // one of those below
	Path string // of what is created: a pattern, for its name is not known yet
	To   string // of a rename
	Data []byte // of a write
}

// What is asked of the disk.
const (
	OpCreate     = "create"
	OpWrite      = "write"
	OpMode       = "set the permissions of"
	OpSync       = "sync"
	OpClose      = "close"
	OpRename     = "rename"
	OpRemove     = "remove"
	OpMakeFolder = "make folder"
	OpSyncFolder = "sync folder"
	OpLock       = "lock"
)

// Between stands between this program and the disk, and makes each call. A test puts one
// in its place that breaks as disks do, while nothing is under way.
var Between = func(_ Call, do func() error) error { return do() }

// Touch makes a call of another package in the same way as those of this one.
func Touch(op, path string, do func() error) error { return Between(Call{Op: op, Path: path}, do) }

// file is a new file, every call of which can be failed.
type file struct{ on *os.File }

func createTemp(dir, pattern string) (f file, err error) {
	err = Touch(OpCreate, pattern, func() error {
		f.on, err = os.CreateTemp(dir, pattern)
		return err
	})
	if err != nil && f.on != nil { // it was made all the same
		f.discard()
	}
	return f, err
}

func (f file) Write(p []byte) (n int, err error) {
	err = Between(Call{Op: OpWrite, Path: f.on.Name(), Data: p}, func() error {
		n, err = f.on.Write(p)
		return err
	})
	return n, err
}

func (f file) Seek(offset int64, whence int) (int64, error) { return f.on.Seek(offset, whence) }

// keep has the disk keep the file with the permissions of the one at path, and
// closes it.
func (f file) keep(path string) error {
	name := f.on.Name()
	return errors.Join(
		Touch(OpMode, name, func() error { return f.on.Chmod(modeFor(path)) }),
		Touch(OpSync, name, f.on.Sync),
		Touch(OpClose, name, f.on.Close),
	)
}

func (f file) discard() {
	f.on.Close() // fails harmlessly when closed already
	remove(f.on.Name())
}

// remove removes a file that is ours and that nobody will miss.
func remove(path string) { Touch(OpRemove, path, func() error { return os.Remove(path) }) }
