package machine

import (
	"archive/zip"
	"context"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"slices"

	"github.com/go-json-experiment/json"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Export writes the machine and the recordings of its takes into one zip at path,
// whole or not at all. A recording that is not in the folder is left out and its
// name returned. progress may be nil; it hears 0 to 1.
func (f *Folder) Export(ctx context.Context, path string, progress func(float64)) (missing []string, err error) {
	_, data, recordings, missing, err := f.contents()
	if err != nil {
		return nil, err
	}
	if err := fewEnough(len(recordings) + 1); err != nil { // better now than when the folder is gone
		return nil, i18n.Errorf("machine folder %s: %w", f.dir, err)
	}
	err = atomicfile.Write(path, func(w io.WriteSeeker) error { return pack(ctx, w, data, recordings, progress) })
	if err != nil {
		return nil, i18n.Errorf("the machine in %s was not exported to %s (check that the disk has room): %w", f.dir, path, err)
	}
	return missing, nil
}

// recording is the WAV file of a take.
type recording struct {
	name string // as the take has it, forward slashes
	dir  string // the machine folder
	size int64  // bytes
}

// open opens the recording, wherever in its folder it lies: a link that leads out of
// it is not followed.
func (r recording) open() (*os.File, error) { return os.OpenInRoot(r.dir, filepath.FromSlash(r.name)) }

// contents returns the machine and its machine.json as saved last, and the recordings
// that its takes name, once each; those that are not in the folder are missing.
func (f *Folder) contents() (m Machine, data []byte, there []recording, missing []string, err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.saved == nil {
		return Machine{}, nil, nil, nil, i18n.Errorf("the machine in %s is closed: open it again first", f.dir)
	}
	if err := f.current.stayInside(f.dir); err != nil {
		return Machine{}, nil, nil, nil, err
	}
	seen := map[string]bool{}
	for _, t := range f.current.Takes {
		if seen[t.File] {
			continue
		}
		seen[t.File] = true
		info, err := os.Stat(f.TakePath(t))
		if err != nil || !info.Mode().IsRegular() {
			missing = append(missing, t.File)
			continue
		}
		if err := mayTravel(t.File); err != nil {
			return Machine{}, nil, nil, nil, i18n.Errorf("take %d of the machine in %s: %w", t.ID, f.dir, err)
		}
		there = append(there, recording{t.File, f.dir, info.Size()})
	}
	return clone(f.current), slices.Clone(f.saved), there, missing, nil
}

// pack writes a zip. Recordings are stored as they are: noise does not compress,
// and what was not squeezed cannot be taken for a bomb.
func pack(ctx context.Context, w io.Writer, data []byte, recordings []recording, progress func(float64)) error {
	total := int64(0)
	for _, r := range recordings {
		total += 2 * r.size // each is read twice
	}
	z := zip.NewWriter(w)
	s, err := z.Create(fileName)
	if err != nil {
		return err
	}
	if _, err := s.Write(data); err != nil {
		return err
	}
	p := &pour{ctx: ctx, total: total, progress: progress}
	for _, r := range recordings {
		if err := packOne(p, z, r); err != nil {
			return err
		}
	}
	return z.Close()
}

// packOne adds a recording. Its sum is worked out first, because some programs
// cannot read a stored file whose length and sum come after it.
func packOne(p *pour, z *zip.Writer, r recording) error {
	in, err := r.open()
	if err != nil {
		return err
	}
	defer in.Close()
	sum := crc32.NewIEEE()
	if err := p.exactly(sum, in, r.size); err != nil {
		return fmt.Errorf("%s: %w", r.name, err)
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return err
	}
	h := &zip.FileHeader{Name: r.name, Method: zip.Store, CRC32: sum.Sum32(), CompressedSize64: uint64(r.size), UncompressedSize64: uint64(r.size)}
	if info, err := in.Stat(); err == nil {
		h.Modified = info.ModTime()
	}
	out, err := z.CreateRaw(h)
	if err != nil {
		return err
	}
	if err := p.exactly(out, in, r.size); err != nil {
		return fmt.Errorf("%s: %w", r.name, err)
	}
	return nil
}

// Duplicate copies the machine and the recordings of its takes into a new folder
// beside its own, all or nothing, and returns that. The copy's name says that it is
// one. progress may be nil; it hears 0 to 1. A machine of a later Lagwright is refused:
// its copy would be written anew, as this one understands it.
func (f *Folder) Duplicate(ctx context.Context, progress func(float64)) (dir string, err error) {
	m, data, recordings, _, err := f.contents()
	if err != nil {
		return "", err
	}
	var h header
	if err := json.Unmarshal(data, &h); err == nil && h.Version > version {
		return "", i18n.Errorf("the machine in %s was not duplicated, since the copy would lose what this Lagwright does not know; a zip keeps all of it: %w", f.dir, ErrNewer)
	}
	root := filepath.Dir(f.dir)
	m.Build.Name = copyName(root, m.Build.Name)
	total := int64(0)
	for _, r := range recordings {
		total += r.size
	}
	p := &pour{ctx: ctx, total: total, progress: progress}
	dir, err = fresh(ctx, root, m, func(dir string) error {
		for _, r := range recordings {
			in, err := r.open()
			if err != nil {
				return err
			}
			err = p.into(dir, r.name, in, r.size)
			in.Close()
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return "", i18n.Errorf("the machine in %s was not duplicated (check that the disk has room): %w", f.dir, err)
	}
	return dir, nil
}

// copyName names a copy so that its folder is free under that name too.
func copyName(root, name string) string {
	copied := i18n.F("%s copy", name)
	for n := 2; exists(root, dirName(copied)) && n < 1000; n++ {
		copied = i18n.F("%s copy %d", name, n)
	}
	return copied
}
