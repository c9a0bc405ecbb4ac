package plotting

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Save writes the figure to path, whole or not at all, in the format of the path's
// extension.
func (f *Figure) Save(path string) error {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return i18n.Errorf("cannot save the figure as %s, which is a folder: name a file in it, such as %s", path, filepath.Join(path, "figure.png"))
	}
	data, err := f.encode(formatOf(path))
	if err != nil {
		return i18n.Errorf("cannot save the figure as %s: %w", path, err)
	}
	if err := save(path, data); err != nil {
		return i18n.Errorf("cannot save the figure as %s: check that its folder is there, may be written to and has room: %w", path, err)
	}
	return nil
}

func formatOf(path string) string {
	return strings.ToLower(strings.TrimPrefix(filepath.Ext(path), "."))
}

// save writes one file.
func save(path string, data []byte) error {
	err := atomicfile.Write(path, atomicfile.Bytes(data))
	if place := new(fs.PathError); errors.As(err, &place) { // it names a hidden file of ours
		return place.Err
	}
	return err
}
