package diskfault

import (
	"fmt"
	"hash/fnv"
	"maps"
	"os"
	"path/filepath"
	"slices"
)

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
				if err := layOut(root, files); err != nil {
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

// contents returns what is in each file; nil stands for a folder.
func contents(names map[string]*node, now map[*node][]byte, l luck) map[string][]byte {
	files := map[string][]byte{}
	for name, n := range names {
		written, is := now[n]
		above := filepath.Dir(name)
		switch {
		case above != "." && names[above] == nil:
			continue // nothing leads to it
		case n.folder:
			files[name] = nil
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
		files[name] = append([]byte{}, written...)
	}
	return files
}

func sumOf(files map[string][]byte) uint64 {
	h := fnv.New64a()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		fmt.Fprintf(h, "%q %v %d ", name, files[name] == nil, len(files[name]))
		h.Write(files[name])
	}
	return h.Sum64()
}

func layOut(root string, files map[string][]byte) error {
	if err := os.MkdirAll(root, 0o755); err != nil {
		return err
	}
	for name, data := range files {
		path := filepath.Join(root, name)
		dir := path
		if data != nil {
			dir = filepath.Dir(path)
		}
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return err
		}
		if data == nil {
			continue
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			return err
		}
	}
	return nil
}
