package plotting

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Files returns the files that Save writes for a path: the path itself and, for
// each further page of a PNG or SVG, one with the page's number: "card-2.png".
func (f *Figure) Files(path string) []string {
	files := []string{path}
	if !pictures(path) {
		return files
	}
	for page := 2; page <= len(f.paint); page++ {
		before, after := pageName(path)
		files = append(files, before+strconv.Itoa(page)+after)
	}
	return files
}

// pictures reports whether a path's format holds one page a file.
func pictures(path string) bool {
	format := formatOf(path)
	return format == "png" || format == "svg"
}

// pageName returns what stands before and after a further page's number.
func pageName(path string) (before, after string) {
	after = filepath.Ext(path)
	return strings.TrimSuffix(path, after) + "-", after
}

func formatOf(path string) string {
	return strings.ToLower(strings.TrimPrefix(filepath.Ext(path), "."))
}

// Save writes the figure to path, and to what else Files says, in the format of
// the path's extension. Every page is drawn before the first is written, and each
// file appears whole or not at all. Then pages of a longer figure saved here
// before, which would be taken for this one's, are removed; see Left.
func (f *Figure) Save(path string) error {
	if err := noFolder(path); err != nil {
		return err
	}
	files := f.Files(path)
	drawn := make([][]byte, len(files))
	for i, page := range f.Pages()[:len(files)] {
		if len(files) == 1 {
			page = f // all of it in one file
		}
		var err error
		if drawn[i], err = page.encode(formatOf(path)); err != nil {
			return i18n.Errorf("cannot save the figure as %s: %w", path, err)
		}
		if i > 0 {
			drawn[i] = marked(formatOf(path), i+1, drawn[i])
		}
	}
	for i, file := range files {
		if err := save(file, drawn[i]); err != nil {
			return i18n.Errorf("cannot save the figure as %s: check that its folder is there, may be written to and has room: %w", file, err)
		}
	}
	return f.removeOld(path)
}

// noFolder refuses a folder where a file is to be.
func noFolder(path string) error {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return i18n.Errorf("cannot save the figure as %s, which is a folder: name a file in it, such as %s", path, filepath.Join(path, "figure.png"))
	}
	return nil
}

// save writes one file.
func save(path string, data []byte) error {
	if err := atomicfile.Write(path, atomicfile.Bytes(data)); err != nil {
		var place *fs.PathError // names a hidden file of ours
		if errors.As(err, &place) {
			return place.Err
		}
		return err
	}
	return nil
}

// removeOld removes the pages beyond the last that bear Lagwright's mark.
func (f *Figure) removeOld(path string) error {
	old, _ := f.beyond(path)
	for _, file := range old {
		if err := os.Remove(file); err != nil {
			return i18n.Errorf("the figure is saved, but %s is a page of an older one and stays: remove it by hand: %w", file, err)
		}
	}
	return nil
}

// Left returns the files that lie there by the name of a further page of this
// figure, after its last, and are not surely a page that Lagwright wrote: Save
// leaves them alone, and whoever saved should hear of them.
func (f *Figure) Left(path string) []string {
	_, left := f.beyond(path)
	return left
}

// beyond returns the files named like pages beyond the last: ours, and others.
func (f *Figure) beyond(path string) (ours, others []string) {
	if !pictures(path) {
		return nil, nil
	}
	dir := filepath.Dir(path)
	entries, _ := os.ReadDir(dir) // a folder that cannot be read shows no pages
	before, after := pageName(filepath.Base(path))
	for _, entry := range entries {
		number, named := strings.CutPrefix(entry.Name(), before)
		number, ended := strings.CutSuffix(number, after)
		page, err := strconv.Atoi(number)
		if !named || !ended || err != nil || page <= max(len(f.paint), 1) || strconv.Itoa(page) != number || !entry.Type().IsRegular() {
			continue
		}
		file := filepath.Join(dir, entry.Name())
		if data, err := os.ReadFile(file); err == nil && isOurs(formatOf(path), page, data) {
			ours = append(ours, file)
		} else {
			others = append(others, file)
		}
	}
	return ours, others
}
