// Package diskfault plays disks that break while something is written through
// package atomicfile: at every call in turn, in every way. Tests only.
package diskfault

import (
	"cmp"
	"errors"
	"fmt"
	"hash/fnv"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing/fstest"

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
	undo := Between(d.call)
	do()
	undo()
	if d.broken == "" && !(way == Dies && d.calls == at) {
		return nil, fmt.Errorf("there were %d calls, of which number %d was to break", d.calls, at)
	}
	return d, m.err
}

// Watch returns what do asks of the disk, in order.
func Watch(do func()) (ops []string) {
	undo := Between(func(c atomicfile.Call, do func() error) error {
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
func WithoutSync() (undo func()) { return Between(unsynced) }

// Between has f make each call of package atomicfile, or fail it, until undo is called.
func Between(f func(c atomicfile.Call, do func() error) error) (undo func()) {
	was := atomicfile.Between
	atomicfile.Between = f
	return func() { atomicfile.Between = was }
}

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

// memory is what a disk has been asked to keep. Only what was written to a file
// before a sync of it is sure to be there after a power cut, and only a name that was
// given before a sync of its folder is sure to have been given (POSIX, fsync); of
// what came later all, some or nothing may be there.
type memory struct {
	root    string
	names   map[string]*node // now, by path from root
	kept    map[string]*node // for sure
	pending []change         // of names, since
	err     error
}

// node is a file, or a folder.
type node struct {
	folder bool
	kept   []byte // what is in it for sure
}

// change is one of names.
type change struct {
	from, to string // either may be empty
	node     *node
}

// remember looks at a disk that lies still.
func remember(root string) (*memory, error) {
	m := &memory{root: root, names: map[string]*node{}, kept: map[string]*node{}}
	m.walk(func(name string, folder bool) {
		n := &node{folder: folder, kept: m.read(name)}
		m.names[name], m.kept[name] = n, n
	})
	return m, m.err
}

// walk goes through all that lies below the root.
func (m *memory) walk(each func(name string, folder bool)) {
	m.failed(fs.WalkDir(os.DirFS(m.root), ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && name != "." {
			each(name, d.IsDir())
		}
		return err
	}))
}

func (m *memory) read(name string) []byte {
	path := filepath.Join(m.root, name)
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() {
		m.failed(err)
		return nil
	}
	data, err := os.ReadFile(path)
	m.failed(err)
	return data
}

func (m *memory) failed(err error) { m.err = cmp.Or(m.err, err) }

func (m *memory) name(path string) string {
	name, err := filepath.Rel(m.root, path)
	m.failed(err)
	return filepath.ToSlash(name)
}

// note takes in a call that was made.
func (m *memory) note(c atomicfile.Call) {
	switch c.Op {
	case atomicfile.OpCreate, atomicfile.OpMakeFolder:
		m.walk(func(name string, folder bool) {
			if m.names[name] == nil {
				m.change(change{to: name, node: &node{folder: folder}})
			}
		})
	case atomicfile.OpSync:
		if n := m.names[m.name(c.Path)]; n != nil {
			n.kept = m.read(m.name(c.Path))
		}
	case atomicfile.OpRename:
		from := m.name(c.Path)
		m.change(change{from, m.name(c.To), m.names[from]})
	case atomicfile.OpRemove:
		m.change(change{from: m.name(c.Path)})
	case atomicfile.OpSyncFolder:
		m.keep(m.name(c.Path))
	}
}

func (m *memory) change(c change) {
	c.apply(m.names)
	m.pending = append(m.pending, c)
}

// apply makes a change of names. What lies in a folder goes with it.
func (c change) apply(names map[string]*node) {
	if c.from != "" {
		moved := map[string]*node{}
		for name, n := range names {
			rest, below := strings.CutPrefix(name, c.from+"/")
			if !below && name != c.from {
				continue
			}
			delete(names, name)
			if below && c.to != "" {
				moved[path.Join(c.to, rest)] = n
			}
		}
		maps.Copy(names, moved)
	}
	if c.to != "" {
		names[c.to] = c.node
	}
}

// keep makes the changes in a folder last.
func (m *memory) keep(folder string) {
	var left []change
	for _, c := range m.pending {
		if path.Dir(c.to) == folder && c.to != "" || path.Dir(c.from) == folder && c.from != "" {
			c.apply(m.kept)
		} else {
			left = append(left, c)
		}
	}
	m.pending = left
}

// luck is what a power cut left of what had been written to a file and not synced.
type luck int

const (
	nothing luck = iota
	firstHalf
	zeros // the length is right, what is in it is not
	everything
	lucks
)

// mostPending is how many changes of names are tried in all combinations: of more, the
// last of these stands for itself and all that came after it.
const mostPending = 8

// After calls each with every disk that a power cut may have left, laid out below a
// new folder in room: of changed names any may have been kept, of unsynced files all,
// half, zeros or nothing. It returns how many there were.
func (d *Disk) After(room string, each func(root string)) (states int, err error) {
	m := d.memory
	now := map[*node][]byte{}
	for name, n := range m.names {
		if !n.folder {
			now[n] = m.read(name)
		}
	}
	seen := map[uint64]bool{}
	for choice := range 1 << min(len(m.pending), mostPending) {
		names := m.choose(choice)
		for l := range lucks {
			files := contents(names, now, l)
			if sum := sumOf(files); !seen[sum] {
				seen[sum] = true
				root := filepath.Join(room, fmt.Sprint(len(seen)))
				if err := os.CopyFS(root, files); err != nil {
					return len(seen), err
				}
				each(root)
				os.RemoveAll(root)
			}
		}
	}
	return len(seen), m.err
}

// choose returns the names of which the changes chosen, a bit each, were kept.
func (m *memory) choose(choice int) map[string]*node {
	names := maps.Clone(m.kept)
	for i, c := range m.pending {
		if choice&(1<<min(i, mostPending-1)) != 0 {
			c.apply(names)
		}
	}
	return names
}

// contents returns what is in each file, and which folders there are.
func contents(names map[string]*node, now map[*node][]byte, l luck) fstest.MapFS {
	files := fstest.MapFS{}
	for name, n := range names {
		written, is := now[n]
		above := path.Dir(name)
		switch {
		case above != "." && names[above] == nil:
			continue // nothing leads to it
		case n.folder:
			files[name] = &fstest.MapFile{Mode: fs.ModeDir}
			continue
		case !is || string(written) == string(n.kept):
			written = n.kept // it was removed or replaced since, or nothing is in doubt
		case l == nothing:
			written = n.kept
		case l == firstHalf:
			written = written[:len(written)/2]
		case l == zeros:
			written = make([]byte, len(written))
		}
		files[name] = &fstest.MapFile{Data: written}
	}
	return files
}

func sumOf(files fstest.MapFS) uint64 {
	h := fnv.New64a()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		fmt.Fprintf(h, "%q %v %d ", name, files[name].Mode, len(files[name].Data))
		h.Write(files[name].Data)
	}
	return h.Sum64()
}
