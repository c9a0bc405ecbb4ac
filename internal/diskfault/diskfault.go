// Package diskfault plays disks that break while something is written through
// package atomicfile: at every call in turn, in every way. Tests only.
package diskfault

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"lagwright/calib/atomicfile"
)

// Way is how a disk breaks at a call.
type Way string

// The ways.
const (
	Fails Way = "input/output error"       // the call fails and does nothing
	Full  Way = "no room"                  // the call fails; a write writes half
	Short Way = "short write"              // a write writes half and says so
	Lies  Way = "done but said to fail"    // as a network drive may
	Dies  Way = "power cut before a call"  // from here on nothing is done any more
	Torn  Way = "power cut within a write" // which writes half
)

// Ways are all of them.
var Ways = []Way{Fails, Full, Short, Lies, Dies, Torn}

// Cut reports whether the program ends there, so that nobody hears of the fault.
func (w Way) Cut() bool { return w == Dies || w == Torn }

// ErrPower is what every call of a program that is no more gives.
var ErrPower = errors.New("the power was cut")

// Disk is one that breaks at one call.
type Disk struct {
	at     int // which call it breaks at, counted from 0
	way    Way
	calls  int
	broken string // the call it broke at, in words
	dead   bool
	memory *memory // of what would survive a power cut
}

// Break runs do on a disk below root that breaks at a call, counted from 0, in a way:
// one of those that Watch gives, and that breaks so, or with Dies the end of them.
func Break(root string, at int, way Way, do func()) (*Disk, error) {
	m, err := remember(root)
	if err != nil {
		return nil, err
	}
	d := &Disk{at: at, way: way, memory: m}
	undo := atomicfile.Between(d.call)
	do()
	undo()
	if d.broken == "" && !(way == Dies && d.calls == at) {
		return nil, fmt.Errorf("there were %d calls, of which number %d was to break", d.calls, at)
	}
	return d, m.err
}

// Watch returns what do asks of the disk, in order.
func Watch(do func()) (ops []string) {
	undo := atomicfile.Between(func(c atomicfile.Call, do func() error) error {
		ops = append(ops, c.Op)
		return unsynced(c, do)
	})
	defer undo()
	do()
	return ops
}

// Broken says at which call it broke.
func (d *Disk) Broken() string {
	if d.broken == "" {
		return fmt.Sprintf("after the last of %d calls", d.calls)
	}
	return fmt.Sprintf("call %d, %s", d.at+1, d.broken)
}

// Removing reports whether it broke where something was to be removed, which then
// stays.
func (d *Disk) Removing() bool { return d.broken == atomicfile.OpRemove }

func (d *Disk) call(c atomicfile.Call, do func() error) error {
	if d.dead {
		return ErrPower
	}
	here := d.calls == d.at
	d.calls++
	if here {
		d.broken = c.Op
		return d.breakAt(c, do)
	}
	return d.make(c, do)
}

// make makes a call and remembers what it did.
func (d *Disk) make(c atomicfile.Call, do func() error) error {
	err := unsynced(c, do)
	if err == nil {
		d.memory.note(c)
	}
	return err
}

// WithoutSync has nothing synced until undo is called: what a disk keeps is played here.
func WithoutSync() (undo func()) { return atomicfile.Between(unsynced) }

func unsynced(c atomicfile.Call, do func() error) error {
	if c.Op == atomicfile.OpSync || c.Op == atomicfile.OpSyncFolder {
		return nil
	}
	return do()
}

// Breaks reports whether what is asked of a disk can break in this way; nothing is
// asked at the end, where only the power can be cut.
func (w Way) Breaks(op string) bool {
	switch w {
	case Short, Torn:
		return op == atomicfile.OpWrite
	case Dies:
		return true
	}
	return op != ""
}

func (d *Disk) breakAt(c atomicfile.Call, do func() error) error {
	fault := func(why error) error { return &fs.PathError{Op: c.Op, Path: c.Path, Err: why} }
	if c.Op == atomicfile.OpWrite && d.way != Fails && d.way != Lies && d.way != Dies {
		if err := half(c); err != nil {
			return err
		}
	}
	switch d.way {
	case Full:
		return fault(syscall.ENOSPC)
	case Short:
		return fault(errors.New("short write"))
	case Lies:
		if err := d.make(c, do); err != nil {
			return err
		}
		return fault(syscall.EIO)
	case Dies, Torn:
		d.dead = true
		return ErrPower
	}
	return fault(syscall.EIO)
}

// half writes the first half of what is to be written.
func half(c atomicfile.Call) error {
	f, err := os.OpenFile(c.Path, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return err
	}
	_, err = f.Write(c.Data[:len(c.Data)/2])
	return errors.Join(err, f.Close())
}
