package plotting

import (
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lagwright/internal/must"
)

// The figures must work without a screen, so they may import only calib, of
// whose parts house_test.go tells which, gonum, the fonts' x/image, x/text, the atomic writer and the standard library.
func TestImports(t *testing.T) {
	allowed := []string{"lagwright/calib", "lagwright/plotting/", "gonum.org/v1/", "golang.org/x/image/", "golang.org/x/text/"}
	files := must.Get(os.ReadDir("."))(t)
	for _, file := range files {
		if !strings.HasSuffix(file.Name(), ".go") || strings.HasSuffix(file.Name(), "_test.go") {
			continue
		}
		parsed := must.Get(parser.ParseFile(token.NewFileSet(), file.Name(), nil, parser.ImportsOnly))(t)
		for _, spec := range parsed.Imports {
			path, _ := strconv.Unquote(spec.Path.Value)
			outside := strings.Contains(strings.Split(path, "/")[0], ".") || strings.HasPrefix(path, "lagwright/")
			if outside && !slices.ContainsFunc(allowed, func(p string) bool { return strings.HasPrefix(path, p) }) {
				t.Errorf("%s imports %s", file.Name(), path)
			}
		}
	}
}
