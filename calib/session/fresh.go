package session

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lagwright/calib/phrase"
	"lagwright/calib/whole"
)

// A session folder that is being filled has a hidden name, which begins and ends so.
const (
	fillingPrefix = ".session-"
	fillingSuffix = ".new.tmp"
	// fillingMost is after how long a folder that is still being filled was left
	// behind by a crash.
	fillingMost = 24 * time.Hour
)

// fresh makes a new folder in root for s, with what fill puts beside session.json:
// all of it or nothing.
func fresh(root string, s Session, fill func(dir string) error) (dir string, err error) {
	_, data, err := settle(s)
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(root, 0o755); err != nil {
		return "", err
	}
	sweep(root)
	filling, err := os.MkdirTemp(root, fillingPrefix+"*"+fillingSuffix)
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(filling) // once it has its name there is nothing left to remove
	if err := os.Chmod(filling, 0o755); err != nil {
		return "", err
	}
	if err := fill(filling); err != nil {
		return "", err
	}
	if err := save(filling, data, data); err != nil {
		return "", err
	}
	whole.SyncDir(filling)
	dir = FreeDir(root, s.Name)
	if err := whole.Rename(filling, dir); err != nil {
		return "", err
	}
	whole.SyncDir(root)
	return dir, nil
}

// sweep removes folders that a crash left behind while they were filled.
func sweep(root string) {
	entries, _ := os.ReadDir(root)
	for _, e := range entries {
		ours := e.IsDir() && strings.HasPrefix(e.Name(), fillingPrefix) && strings.HasSuffix(e.Name(), fillingSuffix)
		if info, err := e.Info(); ours && err == nil && time.Since(info.ModTime()) > fillingMost {
			os.RemoveAll(filepath.Join(root, e.Name()))
		}
	}
}

// pour copies files, hears of cancelling and tells how far it is.
type pour struct {
	ctx         context.Context
	done, total int64
	progress    func(float64) // may be nil; hears 0 to 1
}

// pourBytes is how much is copied at a time.
const pourBytes = 1 << 20

// errLength: the file has not the length that was said before.
var errLength = phrase.Fixed(phrase.Say("it is longer or shorter than it says: it was changed or damaged"))

// exactly copies from r to w, which must be size bytes.
func (p *pour) exactly(w io.Writer, r io.Reader, size int64) error {
	left := size
	for {
		if err := p.ctx.Err(); err != nil {
			return err
		}
		n, err := io.CopyN(w, r, min(pourBytes, left+1)) // one more shows that there is more
		left -= n
		p.done += n
		switch {
		case left < 0:
			return errLength
		case errors.Is(err, io.ErrUnexpectedEOF):
			return errLength
		case err == io.EOF && left > 0:
			return errLength
		case err == io.EOF:
			return nil
		case err != nil:
			return err
		}
		if p.progress != nil && p.total > 0 {
			p.progress(float64(p.done) / float64(p.total))
		}
	}
}

// into writes a file of a session folder, flushed to the disk.
func (p *pour) into(dir, name string, r io.Reader, size int64) error {
	path := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	err := whole.Write(path, func(w io.WriteSeeker) error { return p.exactly(w, r, size) })
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}
