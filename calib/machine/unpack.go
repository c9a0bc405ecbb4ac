package machine

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

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
	m, recordings, err := inspect(ctx, f, size)
	if err != nil {
		return "", err
	}
	p := &pour{ctx: ctx, progress: progress}
	for _, r := range recordings {
		p.total += int64(r.UncompressedSize64)
	}
	return fresh(ctx, root, m, func(dir string) error {
		for _, r := range recordings {
			if err := p.unpack(dir, r); err != nil {
				return err
			}
		}
		return nil
	})
}

func (p *pour) unpack(dir string, r *zip.File) error {
	in, err := r.Open()
	if err != nil {
		return fmt.Errorf("%s: %w", r.Name, err)
	}
	defer in.Close()
	if exists(dir, filepath.FromSlash(r.Name)) { // some disks hold one of two that differ in case only
		return i18n.Errorf("it holds %q twice", r.Name)
	}
	return p.into(dir, r.Name, in, int64(r.UncompressedSize64))
}

// inspect returns the machine in a zip, and its recordings, still packed. It
// unpacks machine.json only, after all else that the zip says of itself was found
// in order.
func inspect(ctx context.Context, r io.ReaderAt, size int64) (Machine, []*zip.File, error) {
	list := &sparing{r: r, left: mostListBytes}
	z, err := zip.NewReader(list, size)
	switch {
	case list.left < 0:
		return Machine{}, nil, i18n.Errorf("its list of files is longer than that of any machine: it may hold %d files", mostFiles)
	case err != nil:
		return Machine{}, nil, i18n.Errorf("it is not a whole zip (%w): export the machine again", err)
	}
	list.free = true // from now on the bounds of the files themselves hold
	own, recordings, err := sortFiles(z.File, size)
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
	for _, f := range recordings {
		if !named[f.Name] {
			return Machine{}, nil, i18n.Errorf("it holds %q, which is not a take of its machine", f.Name)
		}
	}
	return m, recordings, nil
}

// sortFiles checks what a zip of the given size says of its files and returns its
// machine.json and the others.
func sortFiles(files []*zip.File, size int64) (own *zip.File, others []*zip.File, err error) {
	if err := fewEnough(len(files)); err != nil {
		return nil, nil, err
	}
	seen := map[string]bool{}
	total := uint64(0)
	for _, f := range files {
		if err := checkFile(f); err != nil {
			return nil, nil, err
		}
		if seen[f.Name] {
			return nil, nil, i18n.Errorf("it holds %q twice", f.Name)
		}
		seen[f.Name] = true
		if f.UncompressedSize64 > mostBytes {
			return nil, nil, i18n.Errorf("%q would unpack to %d GB: no take is as long", f.Name, f.UncompressedSize64>>30)
		}
		total += f.UncompressedSize64
		if f.Name == fileName {
			own = f
			continue
		}
		others = append(others, f)
	}
	if own == nil {
		return nil, nil, i18n.Errorf("there is no %s in it: export the machine as a zip from Lagwright", fileName)
	}
	if total > mostBytes || total > mostGrowth*uint64(size) {
		return nil, nil, i18n.Errorf("its %d MB would unpack to %d MB: no machine does that", size>>20, total>>20)
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
func readMachine(ctx context.Context, own *zip.File) (Machine, error) {
	if own.UncompressedSize64 > mostJSONBytes {
		return Machine{}, i18n.Errorf("its %s says it has %d MB: none is as long", fileName, own.UncompressedSize64>>20)
	}
	in, err := own.Open()
	if err != nil {
		return Machine{}, i18n.Errorf("its %s cannot be read: export the machine again: %w", fileName, err)
	}
	defer in.Close()
	data, err := io.ReadAll(io.LimitReader(in, int64(own.UncompressedSize64)+1))
	if err == nil && uint64(len(data)) != own.UncompressedSize64 {
		err = errLength
	}
	if err != nil {
		return Machine{}, i18n.Errorf("its %s cannot be read: export the machine again: %w", fileName, err)
	}
	var m Machine
	err = orCancel(ctx, func() (err error) { m, err = decode(data); return err })
	if err != nil && !errors.Is(err, ErrNewer) && ctx.Err() == nil {
		err = i18n.Errorf("its %s is damaged: export the machine again: %w", fileName, err)
	}
	if err != nil {
		return Machine{}, err // s is not touched: whoever was cancelled may still write it
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
