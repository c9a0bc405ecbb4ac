package atomicfile

import (
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

// written is a new file, every write to which can be failed.
type written struct{ on *os.File }

func (f written) Write(p []byte) (n int, err error) {
	err = Between(Call{Op: OpWrite, Path: f.on.Name(), Data: p}, func() error {
		n, err = f.on.Write(p)
		return err
	})
	return n, err
}

func (f written) Seek(offset int64, whence int) (int64, error) { return f.on.Seek(offset, whence) }
