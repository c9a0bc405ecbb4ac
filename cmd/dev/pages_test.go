package main

import (
	"cmp"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	pageLink  = regexp.MustCompile(`\]\(([^)#]+)\)`)
	fileNamed = regexp.MustCompile(`\b(?:calib|cmd|internal|plotting|ui)/[\w/-]+\.(?:go|md)\b`)
)

// TestPageLinks: what the pages link to is there, and so is what they and comments name.
func TestPageLinks(t *testing.T) {
	root, links := houseRoot(t), 0
	err := filepath.WalkDir(root, func(page string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() && page != root && strings.HasPrefix(e.Name(), ".") {
			return cmp.Or(err, fs.SkipDir)
		}
		kind := filepath.Ext(page)
		if kind != ".md" && kind != ".go" {
			return nil
		}
		text, err := os.ReadFile(page)
		for _, name := range fileNamed.FindAllString(string(text), -1) {
			if _, gone := os.Stat(filepath.Join(root, name)); gone != nil {
				t.Errorf("%s names %s, which is not there", page, name)
			}
		}
		if kind != ".md" {
			return err
		}
		for _, m := range pageLink.FindAllStringSubmatch(string(text), -1) {
			links++
			_, gone := os.Stat(filepath.Join(filepath.Dir(page), filepath.FromSlash(m[1])))
			if gone != nil && !strings.Contains(m[1], "://") {
				t.Errorf("%s links to %s, which is not there", page, m[1])
			}
		}
		return err
	})
	if err != nil || links < 10 {
		t.Errorf("%d links were found (%v)", links, err)
	}
}
