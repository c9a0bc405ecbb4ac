package plotting

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// A page for all voices together and one for each; the table has the same settings, and
// RFC 4180's reader of Go's library reads it.
func TestStaircase(t *testing.T) {
	v := look(setList())
	s := StaircaseOf(v)
	if len(s.Pages) != 3 || len(s.Pages[0].Voices) != 0 || !slices.Equal(s.Pages[2].Voices, []string{"elm block"}) || len(s.Songs) != 3 {
		t.Fatalf("pages %+v, songs %+v", s.Pages, s.Songs)
	}
	f := s.Figure(A5)
	if f.Pages() != 3 {
		t.Fatalf("%d pages", f.Pages())
	}
	dir := t.TempDir()
	for _, name := range []string{"t.png", "t.svg", "t.pdf", "t.csv"} {
		if err := f.Save(filepath.Join(dir, name)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	words := strings.Join(strings.Fields(poppler(t, "pdftotext", "-raw", savePDF(t, f), "-")), " ")
	for _, sentence := range caution() {
		if strings.Count(words, sentence) != len(s.Pages) {
			t.Errorf("not every page says %q", sentence)
		}
	}
	data := must.Get(os.ReadFile(filepath.Join(dir, "t.csv")))(t)
	rows := must.Get(csv.NewReader(bytes.NewReader(data)).ReadAll())(t)
	want := 1
	for _, page := range s.Pages {
		want += len(page.Stays)
	}
	if len(rows) != want || rows[1][0] != "tub drum; elm block" || !strings.Contains(string(data), "elm block,") {
		t.Errorf("%d rows, want %d:\n%s", len(rows), want, data)
	}
}

// Before any take there is a page that says so.
func TestStaircaseOfNothing(t *testing.T) {
	s := StaircaseOf(look(machine.Machine{ToleranceMS: 5, Build: machine.Build{Voices: []string{"drum"}}, Target: machine.Target{TempoBPM: 90, Voice: "drum"}}))
	f := s.Figure(A5)
	if len(s.Pages) != 0 || f.Pages() != 1 {
		t.Fatalf("%d pages of %d", f.Pages(), len(s.Pages))
	}
	f.Image(400, 300, 1)
}
