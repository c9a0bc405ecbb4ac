package ui

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lagwright/internal/must"
)

// What may stand in the window's code without being a phrase: lower-case keys, names
// and endings of files, and these.
var (
	noWords = regexp.MustCompile(`^(?:[a-z0-9.\-/]*|\.[A-Z0-9]+|%s|[a-z]+-%03d\.[a-z]+|lagwright[A-Z][a-z]+|[^\pL]*)$`)
	word    = regexp.MustCompile(`\p{Latin}\p{Latin}`)
	exempt  = map[string]bool{
		"Lagwright": true, " – Lagwright": true, // the program's name
		"2 Jan 2006, 15:04": true, "2006-01-02, 15:04": true, // layouts of dates
		`([0-9]+(?:[.,][0-9]+)?) mm\b`: true, " mm": true, "%d mm": true, "%.0f ms": true, // lengths in what calib says
		"English": true, "Deutsch": true, "Svenska": true, "Français": true, "ja": true, // in themselves
		"Ctrl+": true, "Shift+": true, "Enter": true, "Page Down": true, "Page Up": true, // on the keys, as the toolkit's menu has them
		"media=":     true,                                                                                                   // of a command line
		"/media/*/*": true, "/run/media/*/*": true, "/mnt/*": true, "/Volumes/*": true, "Documents": true, "Downloads": true, // folders
		"LC_ALL": true, "LANGUAGE": true,
		"an earlier run crashed": true, "machine opened": true, "machine closed": true, "sound ": true, "%.0f by %.0f at scale %.2f, text %.2f times": true,
		"Fyne": true, "Fyne ": true, "Wayland": true, "WAYLAND_DISPLAY": true, "FYNE_PLATFORM": true, // for log and report
		"the window stays in English": true, "the toolkit stays in the computer's language": true, // for the log
	}
)

// Every word in the window's code reaches the reader's language, those of errors
// that no test brings about among them.
func TestAllWordsArePhrases(t *testing.T) {
	source := readPhrases(t)
	for at, literal := range literalsOf(t, source) {
		words := must.Get(strconv.Unquote(literal))(t)
		if bare := verb.ReplaceAllString(words, ""); !exempt[words] && !noWords.MatchString(words) && word.MatchString(bare) {
			t.Errorf("%s: %q is not given to package i18n", at, words)
		}
	}
}

// literalsOf returns the strings in the window's code, its rooms' too, that are given to no
// function of package i18n, by where they are.
func literalsOf(t *testing.T, source *phraseSource) map[string]string {
	t.Helper()
	paths, _ := filepath.Glob("*.go")
	rooms, _ := filepath.Glob("*/*.go")
	found, read := map[string]string{}, 0
	for _, path := range append(paths, rooms...) {
		if dir := filepath.Dir(path); strings.HasSuffix(path, "_test.go") || dir == "logbook" || dir == "clip" { // English in every language, and X11's own
			continue
		}
		read++
		f := must.Get(parser.ParseFile(source.files, path, nil, 0))(t)
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.ValueSpec: // a constant that some phrase is
				for i, name := range n.Names {
					if i < len(n.Values) && source.used[source.constants[f.Name.Name][name.Name]] {
						return false
					}
				}
			case *ast.CallExpr:
				if s, ok := n.Fun.(*ast.SelectorExpr); ok {
					if of, ok := s.X.(*ast.Ident); ok && (of.Name == "i18n" || of.Name == "lang") {
						for _, a := range n.Args { // what fills the verbs may be words again
							if _, ok := source.constant(f.Name.Name, a); !ok {
								ast.Inspect(a, func(n ast.Node) bool { return keepString(n, source.files, found) })
							}
						}
						return false
					}
				}
			}
			return keepString(n, source.files, found)
		})
	}
	if read < 40 {
		t.Fatalf("only %d files read", read)
	}
	return found
}

// keepString keeps a string; those in a phrase that fills another's verbs are none.
func keepString(n ast.Node, files *token.FileSet, found map[string]string) bool {
	switch n := n.(type) {
	case *ast.CallExpr:
		if s, ok := n.Fun.(*ast.SelectorExpr); ok {
			if of, ok := s.X.(*ast.Ident); ok && (of.Name == "i18n" || of.Name == "lang") {
				return false
			}
		}
	case *ast.BasicLit:
		if n.Kind == token.STRING {
			found[files.Position(n.Pos()).String()] = n.Value
		}
	}
	return true
}
