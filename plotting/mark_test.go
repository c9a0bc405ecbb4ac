package plotting

import (
	"bytes"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// names lists the files in a folder.
func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

// saveBook saves a figure of so many small pages, no two alike.
func saveBook(t *testing.T, pages int, path string) *Figure {
	t.Helper()
	f := &Figure{width: 60, height: 45, background: color.NRGBA{255, 255, 255, 255}}
	for page := range pages {
		f.paint = append(f.paint, func(p pen) {
			p.SetColor(color.Black)
			p.Fill(vg.Rectangle{Max: vg.Point{X: vg.Length(page + 1), Y: 9}}.Path())
		})
	}
	if err := f.Save(path); err != nil {
		t.Fatal(err)
	}
	return f
}

// A shorter figure takes the place of a longer one: no old page is left to be hung
// beside the new ones, and nobody else's picture goes.
func TestSaveRemovesOldPagesOfItsOwn(t *testing.T) {
	for _, ext := range []string{".png", ".svg"} {
		dir := t.TempDir()
		path := filepath.Join(dir, "card"+ext)
		saveBook(t, 5, path)
		for _, other := range []string{"card-x", "card-03", "card-+3", "card-9", "Card-3", "card 3", "my card-3", "card-1", "card-3b"} {
			if err := os.WriteFile(filepath.Join(dir, other+ext), []byte("somebody's picture"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		saveBook(t, 5, filepath.Join(dir, "other"+ext))
		before := names(t, dir)
		f := saveBook(t, 2, path)
		want := strings.NewReplacer("card-3"+ext+" card-3b", "card-3b", "card-4"+ext+" ", "", "card-5"+ext+" ", "").Replace(before)
		if got := names(t, dir); got != want || got == before {
			t.Errorf("left\n%s\nwant\n%s", got, want)
		}
		if left := f.Left(path); len(left) != 1 || filepath.Base(left[0]) != "card-9"+ext {
			t.Errorf("what is not ours: %v, want card-9", left)
		}
		saveBook(t, 1, path)
		if strings.Contains(names(t, dir), " card-2"+ext) {
			t.Error("the second page stays beside a figure of one")
		}
	}
}

// A page that somebody changed, renamed or saved on its own is theirs.
func TestSaveKeepsWhatSomebodyMade(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "card.png")
	saveBook(t, 5, path)
	third, fourth := filepath.Join(dir, "card-3.png"), filepath.Join(dir, "card-4.png")

	data, err := os.ReadFile(third)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "card-7.png"), data, 0o644); err != nil { // page 3 by another name
		t.Fatal(err)
	}
	picture, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	picture.(interface{ Set(x, y int, c color.Color) }).Set(100, 40, color.Black) // a note on it
	var drawn bytes.Buffer
	if err := png.Encode(&drawn, picture); err != nil {
		t.Fatal(err)
	}
	// An editor that keeps the text chunk: the mark of before, on another picture.
	old := data[len(data)-iendBytes-len(mark("png", 3, nil)) : len(data)-iendBytes]
	at := drawn.Len() - iendBytes
	noted := bytes.Join([][]byte{drawn.Bytes()[:at], old, drawn.Bytes()[at:]}, nil)
	if err := os.WriteFile(third, noted, 0o644); err != nil {
		t.Fatal(err)
	}
	saveBook(t, 1, fourth) // a figure of one page that goes by this name

	saveBook(t, 1, path)
	if got := names(t, dir); got != "card-3.png card-4.png card-7.png card.png" {
		t.Errorf("left %s", got)
	}
}

// ImageMagick reads the mark as the PNG specification has it, and encoding/png
// checks the chunk's sum.
func TestMarkIsSoundPNG(t *testing.T) {
	dir := t.TempDir()
	saveBook(t, 2, filepath.Join(dir, "card.png"))
	second := filepath.Join(dir, "card-2.png")
	out, err := exec.Command("identify", "-verbose", second).CombinedOutput()
	if err != nil || !strings.Contains(string(out), "Software: Lagwright page 2 ") {
		t.Errorf("identify (install imagemagick): %v\n%s", err, out)
	}
	f, err := os.Open(second)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := png.Decode(f); err != nil {
		t.Error(err)
	}
}

// Hardly a file, part of a mark, no folder: nothing is taken for ours.
func TestNothingIsNotOurs(t *testing.T) {
	whole := marked("svg", 2, []byte("<svg/>"))
	if !isOurs("svg", 2, whole) || isOurs("svg", 3, whole) {
		t.Error("a page does not count as ours, or by another number")
	}
	for _, file := range [][]byte{nil, []byte("x"), whole[1:], whole[:20]} {
		if isOurs("png", 2, file) || isOurs("svg", 2, file) {
			t.Errorf("%q counts as ours", file)
		}
	}
	if left := new(Figure).Left(filepath.Join(t.TempDir(), "missing", "card.png")); left != nil {
		t.Errorf("in no folder: %v", left)
	}
}
