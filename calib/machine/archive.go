package machine

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Export writes the machine and the recordings of its takes into one zip at path,
// whole or not at all. A recording that is not in the folder is left out and its
// name returned. progress may be nil; it hears 0 to 1.
func (f *Folder) Export(ctx context.Context, path string, progress func(float64)) (missing []string, err error) {
	data, sounds, missing, err := f.contents()
	if err != nil {
		return nil, err
	}
	if err := fewEnough(len(sounds) + 1); err != nil { // better now than when the folder is gone
		return nil, i18n.Errorf("machine folder %s: %w", f.dir, err)
	}
	err = atomicfile.Write(path, func(w io.WriteSeeker) error { return pack(ctx, w, data, sounds, progress) })
	if err != nil {
		return nil, i18n.Errorf("the machine in %s was not exported to %s (check that the disk has room): %w", f.dir, path, err)
	}
	return missing, nil
}

// contents returns machine.json as saved last, and the recordings that its takes name, once
// each; those that are not in the folder are missing. A link that leads out of the folder is
// not followed.
func (f *Folder) contents() (data []byte, there []recording, missing []string, err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.saved == nil {
		return nil, nil, nil, i18n.Errorf("the machine in %s is closed: open it again first", f.dir)
	}
	if err := f.current.stayInside(f.dir); err != nil {
		return nil, nil, nil, err
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
			return nil, nil, nil, i18n.Errorf("take %d of the machine in %s: %w", t.ID, f.dir, err)
		}
		there = append(there, recording{t.File, info.Size(), info.ModTime(), func() (io.ReadCloser, error) { return os.OpenInRoot(f.dir, filepath.FromSlash(t.File)) }})
	}
	return slices.Clone(f.saved), there, missing, nil
}

// pack writes a zip. Nothing is squeezed: noise does not compress, and what was not
// squeezed cannot be taken for a bomb. It counts as squeezed all the same, since some
// programs cannot read a stored file whose length and sum come after it.
func pack(ctx context.Context, w io.Writer, data []byte, sounds []recording, progress func(float64)) error {
	p := pouring(ctx, sounds, progress)
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.NoCompression) })
	own, err := z.Create(fileName)
	if err != nil {
		return err
	}
	if _, err := own.Write(data); err != nil {
		return err
	}
	for _, s := range sounds {
		out, err := z.CreateHeader(&zip.FileHeader{Name: s.name, Method: zip.Deflate, Modified: s.at})
		if err != nil {
			return err
		}
		if err := p.to(out, s); err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
	}
	return z.Close()
}

// Duplicate copies the machine and the recordings of its takes into a new folder
// beside its own, all or nothing, and returns that. The copy's name says that it is
// one. progress may be nil; it hears 0 to 1. A machine of a later Lagwright is refused:
// its copy would be written anew, as this one understands it.
func (f *Folder) Duplicate(ctx context.Context, progress func(float64)) (dir string, err error) {
	data, sounds, _, err := f.contents()
	if err != nil {
		return "", err
	}
	m, err := decode(data)
	if err != nil {
		return "", i18n.Errorf("the machine in %s was not duplicated, since the copy would lose what this Lagwright does not know; a zip keeps all of it: %w", f.dir, err)
	}
	root := filepath.Dir(f.dir)
	m.Build.Name = copyName(root, m.Build.Name)
	if dir, err = fresh(ctx, root, m, sounds, progress); err != nil {
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

// What a zip may hold. Whoever sends more does not send a machine.
const (
	mostFiles     = 5000
	mostListBytes = 4 << 20 // of the zip's own list of files
	mostBytes     = 1 << 40 // unpacked
	mostGrowth    = 100     // times the zip's own size
)

// Import unpacks a zip that Export has written into a new folder in root, all or
// nothing, and returns the folder. It refuses whatever else a zip may hold.
// progress may be nil; it hears 0 to 1.
func Import(ctx context.Context, path, root string, progress func(float64)) (dir string, err error) {
	defer func() {
		if err != nil {
			err = i18n.Errorf("the zip %s was not imported: %w", path, err)
		}
	}()
	f, size, err := atomicfile.Open(path)
	if errors.Is(err, atomicfile.ErrNotPlain) {
		return "", i18n.Errorf("%w: choose a zip", err)
	}
	if err != nil {
		return "", err
	}
	defer f.Close()
	m, sounds, err := inspect(ctx, f, size)
	if err != nil {
		return "", err
	}
	return fresh(ctx, root, m, sounds, progress)
}

// inspect returns the machine in a zip, and its recordings, still packed. It
// unpacks machine.json only, after all else that the zip says of itself was found
// in order.
func inspect(ctx context.Context, r io.ReaderAt, size int64) (Machine, []recording, error) {
	list := &sparing{r: r, left: mostListBytes}
	z, err := zip.NewReader(list, size)
	switch {
	case list.left < 0:
		return Machine{}, nil, i18n.Errorf("its list of files is longer than that of any machine: it may hold %d files", mostFiles)
	case err != nil:
		return Machine{}, nil, i18n.Errorf("it is not a whole zip (%w): export the machine again", err)
	}
	list.free = true // from now on the bounds of the files themselves hold
	own, sounds, err := sortFiles(z.File, size)
	if err != nil {
		return Machine{}, nil, err
	}
	m, err := readMachine(ctx, own)
	if err != nil {
		return Machine{}, nil, err
	}
	named := map[string]bool{}
	for _, t := range m.Takes {
		named[t.File] = true
	}
	for _, s := range sounds {
		if !named[s.name] {
			return Machine{}, nil, i18n.Errorf("it holds %q, which is not a take of its machine", s.name)
		}
	}
	return m, sounds, nil
}

// sortFiles checks what a zip of the given size says of its files and returns its
// machine.json and the others.
func sortFiles(files []*zip.File, size int64) (own recording, others []recording, err error) {
	if err := fewEnough(len(files)); err != nil {
		return recording{}, nil, err
	}
	seen := map[string]bool{}
	total := uint64(0)
	for _, f := range files {
		if err := checkFile(f); err != nil {
			return recording{}, nil, err
		}
		if seen[f.Name] {
			return recording{}, nil, i18n.Errorf("it holds %q twice", f.Name)
		}
		seen[f.Name] = true
		if f.UncompressedSize64 > mostBytes {
			return recording{}, nil, i18n.Errorf("%q would unpack to %d GB: no take is that long", f.Name, f.UncompressedSize64>>30)
		}
		total += f.UncompressedSize64
		if one := (recording{f.Name, int64(f.UncompressedSize64), f.Modified, f.Open}); f.Name == fileName {
			own = one
		} else {
			others = append(others, one)
		}
	}
	if own.open == nil {
		return recording{}, nil, i18n.Errorf("there is no %s in it: export the machine as a zip from Lagwright", fileName)
	}
	if total > mostBytes || total > mostGrowth*uint64(size) {
		return recording{}, nil, i18n.Errorf("its %d MB would unpack to %d MB: no machine does that", size>>20, total>>20)
	}
	return own, others, nil
}

// fewEnough refuses more files than a machine has.
func fewEnough(files int) error {
	if files > mostFiles {
		return i18n.Errorf("it holds %d files: a machine has %d at most", files, mostFiles)
	}
	return nil
}

// checkFile refuses a file of a zip that is neither machine.json nor can be a take.
func checkFile(f *zip.File) error {
	switch {
	case strings.HasSuffix(f.Name, "/") || f.Mode().IsDir():
		return i18n.Errorf("it holds a folder, %q: a machine's zip has none", f.Name)
	case !f.Mode().IsRegular():
		return i18n.Errorf("it holds %q, which is a link or not a plain file", f.Name)
	case f.Flags&1 != 0:
		return i18n.Errorf("it holds %q behind a password: export the machine without one", f.Name)
	case f.Name == fileName:
		return nil
	}
	return mayTravel(f.Name)
}

// mayTravel refuses the name of a recording that another disk or system would read
// its own way, or that is no recording's.
func mayTravel(name string) error {
	switch {
	case !inside(name) || strings.ContainsFunc(name, unicode.IsControl):
		return i18n.Errorf("%q must be a plain name inside the machine folder", name)
	case !strings.EqualFold(path.Ext(name), ".wav"):
		return i18n.Errorf("%q is not a recording: a take is a .wav file", name)
	}
	for part := range strings.SplitSeq(name, "/") {
		base, _, _ := strings.Cut(part, ".")
		trimmed := strings.TrimRight(part, " .")
		if strings.HasPrefix(part, ".") || trimmed != part || slices.Contains(reserved, strings.ToUpper(strings.TrimSpace(base))) {
			return i18n.Errorf("%q must have a name that every system can keep", name)
		}
	}
	return nil
}

// readMachine reads machine.json of a zip.
func readMachine(ctx context.Context, own recording) (Machine, error) {
	if own.size > mostJSONBytes {
		return Machine{}, i18n.Errorf("its %s says it has %d MB: none is that long", fileName, own.size>>20)
	}
	var data bytes.Buffer
	if err := pouring(ctx, nil, nil).to(&data, own); err != nil {
		return Machine{}, i18n.Errorf("its %s cannot be read: export the machine again: %w", fileName, err)
	}
	var m Machine
	err := orCancel(ctx, func() (err error) { m, err = decode(data.Bytes()); return err })
	if err != nil && !errors.Is(err, ErrNewer) && ctx.Err() == nil {
		err = i18n.Errorf("its %s is damaged: export the machine again: %w", fileName, err)
	}
	if err != nil {
		return Machine{}, err // m is not touched: whoever was cancelled may still write it
	}
	return m, nil
}

// sparing lets so much be read of a zip, until it is free: the list of files alone
// could fill the memory.
type sparing struct {
	r    io.ReaderAt
	left int64
	free bool
}

func (s *sparing) ReadAt(p []byte, at int64) (int, error) {
	if !s.free {
		if s.left -= int64(len(p)); s.left < 0 {
			return 0, io.ErrUnexpectedEOF
		}
	}
	return s.r.ReadAt(p, at)
}
