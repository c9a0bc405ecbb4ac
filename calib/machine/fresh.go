package machine

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// A machine folder that is being filled has a hidden name, which begins and ends so.
const (
	fillingPrefix = ".machine-"
	fillingSuffix = ".new.tmp"
	// fillingMost is after how long a folder that is still being filled was left
	// behind by a crash.
	fillingMost = 24 * time.Hour
)

// fresh makes a new folder in root for a machine, with recordings beside machine.json: all of
// it or nothing.
func fresh(ctx context.Context, root string, m Machine, sounds []recording, progress func(float64)) (dir string, err error) {
	var data []byte
	if err := orCancel(ctx, func() (err error) { _, data, err = settle(m); return err }); err != nil {
		return "", err
	}
	if err := makeFolder(root); err != nil {
		return "", err
	}
	sweep(root)
	filling, err := fillingFolder(root)
	if err != nil {
		return "", err
	}
	defer clearOut(filling) // once it has its name there is nothing left to remove
	p := pouring(ctx, sounds, progress)
	for _, s := range sounds {
		if err := p.into(filling, s); err != nil {
			return "", err
		}
	}
	if err := save(filling, data, data); err != nil {
		return "", err
	}
	atomicfile.SyncDir(filling)
	dir = FreeDir(root, m.Build.Name)
	if err := atomicfile.Rename(filling, dir); err != nil {
		return "", err
	}
	atomicfile.SyncDir(root)
	return dir, nil
}

// orCancel does work on what lies in memory. Where it is cancelled, the work goes on
// to its end for nobody, who must not look at what it makes: a machine as long as a zip may
// hold takes seconds to read.
func orCancel(ctx context.Context, work func() error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	done := make(chan error, 1)
	go func() { done <- work() }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// makeFolder makes a folder, and those above it, where there is none.
func makeFolder(dir string) error {
	return atomicfile.Touch(atomicfile.OpMakeFolder, dir, func() error { return os.MkdirAll(dir, 0o755) })
}

// fillingFolder makes a folder in root that is to be filled.
func fillingFolder(root string) (dir string, err error) {
	pattern := fillingPrefix + "*" + fillingSuffix
	err = atomicfile.Touch(atomicfile.OpMakeFolder, pattern, func() error {
		if dir, err = os.MkdirTemp(root, pattern); err != nil {
			return err
		}
		return os.Chmod(dir, 0o755)
	})
	if err != nil && dir != "" {
		clearOut(dir)
	}
	return dir, err
}

// clearOut removes what is ours and was not finished: a folder that did not get its
// name, or a file.
func clearOut(path string) {
	if _, err := os.Lstat(path); err == nil {
		atomicfile.Touch(atomicfile.OpRemove, path, func() error { return os.RemoveAll(path) })
	}
}

// sweep removes folders that a crash left behind while they were filled.
func sweep(root string) {
	entries, _ := os.ReadDir(root)
	for _, e := range entries {
		ours := e.IsDir() && strings.HasPrefix(e.Name(), fillingPrefix) && strings.HasSuffix(e.Name(), fillingSuffix)
		if info, err := e.Info(); ours && err == nil && time.Since(info.ModTime()) > fillingMost {
			clearOut(filepath.Join(root, e.Name()))
		}
	}
}

// recording is one of a take that is copied, wherever it lies.
type recording struct {
	name string    // as the take has it, forward slashes
	size int64     // bytes
	at   time.Time // when it was last written; zero = not known
	open func() (io.ReadCloser, error)
}

// pour copies sounds, hears of cancelling and tells how far it is.
type pour struct {
	ctx         context.Context
	done, total int64
	progress    func(float64) // may be nil; hears 0 to 1
}

// pouring is what copies some sounds.
func pouring(ctx context.Context, sounds []recording, progress func(float64)) *pour {
	p := &pour{ctx: ctx, progress: progress}
	for _, s := range sounds {
		p.total += s.size
	}
	return p
}

// pourBytes is how much is copied at a time.
const pourBytes = 1 << 20

// errLength: the file has not the length that was said before.
var errLength = i18n.Fixed(i18n.Say("it is longer or shorter than it says: it was changed or damaged"))

// to copies a sound, which must be as long as it says.
func (p *pour) to(w io.Writer, s recording) error {
	in, err := s.open()
	if err != nil {
		return err
	}
	defer in.Close()
	most := io.LimitReader(in, s.size+1) // one more shows that there is more
	n, err := io.CopyBuffer(w, io.TeeReader(most, p), make([]byte, pourBytes))
	if errors.Is(err, io.ErrUnexpectedEOF) || err == nil && n != s.size {
		return errLength
	}
	return err
}

// Write is told what is copied.
func (p *pour) Write(part []byte) (int, error) {
	p.done += int64(len(part))
	if p.progress != nil && p.total > 0 {
		p.progress(float64(p.done) / float64(p.total))
	}
	return len(part), p.ctx.Err()
}

// into writes a sound into a machine folder, flushed to the disk.
func (p *pour) into(dir string, s recording) error {
	path := filepath.Join(dir, filepath.FromSlash(s.name))
	if exists(dir, filepath.FromSlash(s.name)) { // some disks hold one of two that differ in case only
		return i18n.Errorf("it holds %q twice", s.name)
	}
	if err := makeFolder(filepath.Dir(path)); err != nil {
		return err
	}
	if err := atomicfile.Write(path, func(w io.WriteSeeker) error { return p.to(w, s) }); err != nil {
		return fmt.Errorf("%s: %w", s.name, err)
	}
	return nil
}

// Copy copies the file at from into the folder under a name: all of it, or nothing.
// progress may be nil; it hears 0 to 1.
func (f *Folder) Copy(ctx context.Context, from, name string, progress func(float64)) error {
	in, size, err := atomicfile.Open(from)
	if err != nil {
		return i18n.Errorf("%s cannot be opened: %w", from, err)
	}
	one := recording{name: name, size: size, open: func() (io.ReadCloser, error) { return in, nil }}
	if err := pouring(ctx, []recording{one}, progress).into(f.dir, one); err != nil {
		return i18n.Errorf("%s cannot be copied into the machine (check that the disk has room): %w", from, err)
	}
	return nil
}
