package plotting

import (
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The figures must work without a screen, so they may import only calib, of
// whose parts house_test.go tells which, gonum, the fonts' x/image, x/text, the atomic writer and the standard library.
func TestImports(t *testing.T) {
	allowed := []string{"lagwright/calib", "lagwright/plotting/", "gonum.org/v1/", "golang.org/x/image/", "golang.org/x/text/"}
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		if !strings.HasSuffix(file.Name(), ".go") || strings.HasSuffix(file.Name(), "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file.Name(), nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, spec := range parsed.Imports {
			path, _ := strconv.Unquote(spec.Path.Value)
			outside := strings.Contains(strings.Split(path, "/")[0], ".") || strings.HasPrefix(path, "lagwright/")
			if outside && !slices.ContainsFunc(allowed, func(p string) bool { return strings.HasPrefix(path, p) }) {
				t.Errorf("%s imports %s", file.Name(), path)
			}
		}
	}
}
