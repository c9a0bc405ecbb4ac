// Package pagetest compares what a page of prose shows with what the program works out. It
// is for tests only. Example functions with output hold such text in code; none holds it
// in a page that is read beside the code.
package pagetest

import (
	"flag"
	"os"
	"strings"
	"testing"
)

var regen = flag.Bool("regen", false, "write what pages show anew")

// Piece fails the test unless what stands on the page between the marks
//
//	<!-- made: name -->
//	<!-- end -->
//
// is want. With -regen it writes it.
func Piece(t *testing.T, page, name, want string) {
	t.Helper()
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, begun := strings.Cut(string(text), "<!-- made: "+name+" -->\n")
	got, after, ended := strings.Cut(rest, "<!-- end -->\n")
	switch {
	case !begun || !ended || strings.Contains(got, "<!--"):
		t.Fatalf("%s has no place for %q, or does not close it", page, name)
	case got == want:
	case *regen:
		made := before + "<!-- made: " + name + " -->\n" + want + "<!-- end -->\n" + after
		if err := os.WriteFile(page, []byte(made), 0o666); err != nil {
			t.Fatal(err)
		}
	default:
		t.Errorf("%s shows under %q\n%s\nand the program works out\n%s\nrun go test with -regen and read what changes", page, name, got, want)
	}
}

// Says fails the test unless the page has the words, which so tells to be true.
func Says(t *testing.T, page, words string, so bool) {
	t.Helper()
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), words) || !so {
		t.Errorf("%s says %q, or did: that is no longer so", page, words)
	}
}

// Table returns rows as a table; the first is its head.
func Table(rows ...[]string) string {
	var b strings.Builder
	for i, row := range rows {
		b.WriteString("| " + strings.Join(row, " | ") + " |\n")
		if i == 0 {
			b.WriteString(strings.Repeat("|---", len(row)) + "|\n")
		}
	}
	return b.String()
}
