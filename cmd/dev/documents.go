package main

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"

	"lagwright/calib/atomicfile"
)

// The pages beside the code tell numbers and show figures. Both are made by the
// program itself: numbers stand between two marks,
//
//	<!-- made: name -->
//	...
//	<!-- end -->
//
// and this verb writes them anew. A test fails where a page is not as it would.

// piece makes what stands between two marks, or a figure.
type piece func(w *worked) (string, error)

// pages are the pages with the pieces of each by name.
var pages = map[string]map[string]piece{
	"calib/LAW.md":              lawPieces,
	"calib/signal/MEASURING.md": measuringPieces,
}

// documents writes numbers and figures of the pages anew.
func documents(ctx context.Context, h *host, args []string) error {
	if len(args) > 0 {
		return usageError("usage: documents: writes the worked numbers and the figures of the pages beside the code anew")
	}
	made, err := makeDocuments(ctx)
	if err != nil {
		return err
	}
	for _, path := range slices.Sorted(maps.Keys(made)) {
		old, err := os.ReadFile(path)
		if err != nil && !os.IsNotExist(err) {
			return err
		}
		said := "as it was"
		if !bytes.Equal(old, made[path]) {
			said = "written"
			if err := atomicfile.Write(path, atomicfile.Bytes(made[path])); err != nil {
				return err
			}
		}
		h.say("%-36s %s", path, said)
	}
	return nil
}

// makeDocuments returns every page and figure as it should be, by its path from
// the module's root, where it reads the pages.
func makeDocuments(ctx context.Context) (map[string][]byte, error) {
	w, err := workOut(ctx)
	if err != nil {
		return nil, err
	}
	made := map[string][]byte{}
	for path, pieces := range pages {
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		if made[path], err = filled(string(text), pieces, w); err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
	}
	for path, draw := range figuresOfPages {
		if made[path], err = draw(w); err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
	}
	return made, nil
}

// The marks round a piece.
const (
	markBegins = "<!-- made: "
	markNamed  = " -->\n"
	markEnds   = "<!-- end -->\n"
)

// filled returns a page with every piece made anew. A mark without a piece, and a
// piece without a mark, are errors.
func filled(text string, pieces map[string]piece, w *worked) ([]byte, error) {
	var out strings.Builder
	used := map[string]bool{}
	for {
		before, rest, more := strings.Cut(text, markBegins)
		out.WriteString(before)
		if !more {
			break
		}
		name, rest, named := strings.Cut(rest, markNamed)
		_, after, ended := strings.Cut(rest, markEnds)
		make, known := pieces[name]
		switch {
		case !named || !ended:
			return nil, fmt.Errorf("the mark %q is not closed: end it with %q on a line of its own", first(name, 30), strings.TrimSpace(markEnds))
		case !known || used[name]:
			return nil, fmt.Errorf("nothing makes the piece %q, or it stands there twice", name)
		}
		body, err := make(w)
		if err != nil {
			return nil, fmt.Errorf("piece %q: %w", name, err)
		}
		used[name] = true
		out.WriteString(markBegins + name + markNamed + strings.TrimRight(body, "\n") + "\n" + markEnds)
		text = after
	}
	for name := range pieces {
		if !used[name] {
			return nil, fmt.Errorf("the piece %q has no mark on the page", name)
		}
	}
	return []byte(out.String()), nil
}

// first returns the beginning of a text.
func first(s string, n int) string {
	if len(s) > n {
		return s[:n]
	}
	return s
}

// table writes rows as a table; the first is its head.
func table(rows ...[]string) string {
	var b strings.Builder
	for i, row := range rows {
		b.WriteString("| " + strings.Join(row, " | ") + " |\n")
		if i == 0 {
			b.WriteString(strings.Repeat("|---", len(row)) + "|\n")
		}
	}
	return b.String()
}
