package main

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"strings"
)

// constants is a piece: a table of constants as a source file has them, each with
// the words given after "=", or those beside it there. So a page cannot name a value
// that is not used.
func constants(file string, names ...string) piece {
	return func(*worked) (string, error) {
		found, err := constantsIn(file)
		if err != nil {
			return "", err
		}
		rows := [][]string{{"in " + file, "value", "what it is"}}
		for _, name := range names {
			name, words, _ := strings.Cut(name, " = ")
			c, ok := found[name]
			words = cmp.Or(words, c.words)
			if !ok || words == "" {
				return "", fmt.Errorf("%s has no constant %s with a comment beside it", file, name)
			}
			rows = append(rows, []string{"`" + name + "`", c.value, words})
		}
		return table(rows...), nil
	}
}

// sourced is a value and the comment behind it, as written.
type sourced struct{ value, words string }

// constantsIn returns the constants of a file, and whatever else is declared with a
// value, by name.
func constantsIn(file string) (map[string]sourced, error) {
	source, tree, err := parsed(file)
	if err != nil {
		return nil, err
	}
	found := map[string]sourced{}
	ast.Inspect(tree, func(n ast.Node) bool {
		if s, ok := n.(*ast.ValueSpec); ok && len(s.Names) == 1 && len(s.Values) == 1 {
			found[s.Names[0].Name] = sourced{source(s.Values[0]), strings.TrimSpace(s.Comment.Text())}
		}
		return true
	})
	return found, nil
}

// keyedIn returns the entries of a map that a file sets up, in the order they
// stand there: the key and the value of each.
func keyedIn(file, name string) (rows [][2]string, err error) {
	source, tree, err := parsed(file)
	if err != nil {
		return nil, err
	}
	ast.Inspect(tree, func(n ast.Node) bool {
		s, ok := n.(*ast.ValueSpec)
		if !ok || s.Names[0].Name != name || len(s.Values) != 1 {
			return true
		}
		if m, ok := s.Values[0].(*ast.CompositeLit); ok {
			for _, e := range m.Elts {
				if kv, ok := e.(*ast.KeyValueExpr); ok {
					rows = append(rows, [2]string{source(kv.Key), source(kv.Value)})
				}
			}
		}
		return false
	})
	if len(rows) == 0 {
		return nil, fmt.Errorf("%s has no %s", file, name)
	}
	return rows, nil
}

// parsed reads a source file; source is the text of a part of it.
func parsed(file string) (source func(ast.Node) string, tree *ast.File, err error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, err
	}
	files := token.NewFileSet()
	tree, err = parser.ParseFile(files, file, text, parser.ParseComments)
	return func(n ast.Node) string {
		return string(text[files.Position(n.Pos()).Offset:files.Position(n.End()).Offset])
	}, tree, err
}
