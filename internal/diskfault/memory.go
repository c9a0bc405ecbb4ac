package diskfault

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"lagwright/calib/atomicfile"
)

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
	m.failed(filepath.WalkDir(m.root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == m.root {
			return err
		}
		name, err := filepath.Rel(m.root, path)
		if err == nil {
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

func (m *memory) failed(err error) {
	if m.err == nil {
		m.err = err
	}
}

func (m *memory) name(path string) string {
	name, err := filepath.Rel(m.root, path)
	m.failed(err)
	return name
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
			rest, below := strings.CutPrefix(name, c.from+string(filepath.Separator))
			if !below && name != c.from {
				continue
			}
			delete(names, name)
			if below && c.to != "" {
				moved[filepath.Join(c.to, rest)] = n
			}
		}
		for name, n := range moved {
			names[name] = n
		}
	}
	if c.to != "" {
		names[c.to] = c.node
	}
}

// keep makes the changes in a folder last.
func (m *memory) keep(folder string) {
	var left []change
	for _, c := range m.pending {
		if filepath.Dir(c.to) == folder && c.to != "" || filepath.Dir(c.from) == folder && c.from != "" {
			c.apply(m.kept)
		} else {
			left = append(left, c)
		}
	}
	m.pending = left
}
