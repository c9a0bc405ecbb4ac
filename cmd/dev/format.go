package main

import (
	"bytes"
	"fmt"
	"go/format"
	"io/fs"
	"path"
	"strings"
)

// unformatted lists the Go files that gofmt would change. Directories that the
// go command passes over are passed over too.
func unformatted(files fs.FS) ([]string, error) {
	var names []string
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && name != "." && passedOver(d.Name()):
			return fs.SkipDir
		case d.IsDir() || path.Ext(name) != ".go":
			return nil
		}
		ok, err := formatted(files, name)
		if !ok {
			names = append(names, name)
		}
		return err
	})
	return names, err
}

// passedOver reports whether the go command ignores a directory of that name.
func passedOver(dir string) bool {
	return dir == "testdata" || strings.HasPrefix(dir, ".") || strings.HasPrefix(dir, "_")
}

// formatted reports whether a file is as gofmt would write it.
func formatted(files fs.FS, name string) (bool, error) {
	source, err := fs.ReadFile(files, name)
	if err != nil {
		return false, err
	}
	neat, err := format.Source(source)
	if err != nil {
		return false, fmt.Errorf("%s does not parse: %w", name, err)
	}
	return bytes.Equal(source, neat), nil
}
