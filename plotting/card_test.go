package plotting

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/plot/vg"
)

// poppler runs one of poppler-utils' programs, which the dev tool installs.
func poppler(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s(install poppler-utils)", name, err, out)
	}
	return string(out)
}

func savePDF(t *testing.T, f *Figure) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "figure.pdf")
	if err := f.Save(path); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestCardPDFHoldsEverySettingAsText(t *testing.T) {
	for _, n := range []int{1, 5, 6, 12, 60} {
		card := weirCard(n)
		f, err := card.Figure()
		if err != nil {
			t.Fatal(err)
		}
		words := strings.Fields(poppler(t, "pdftotext", "-raw", savePDF(t, f), "-"))
		for _, line := range card.Lines {
			for _, want := range []string{compact(line.TempoBPM), signed(line.SettingSteps)} {
				if !slices.Contains(words, want) {
					t.Errorf("%d lines: the PDF lacks %q", n, want)
				}
			}
		}
		all := strings.Join(words, " ")
		for _, sentence := range append(caution, card.Machine) {
			if !strings.Contains(all, sentence) {
				t.Errorf("%d lines: the PDF lacks %q", n, sentence)
			}
		}
	}
}

// A5 is 148 mm by 210 mm (ISO 216, value from memory): 419.5 by 595.3 points.
func TestCardIsA5(t *testing.T) {
	for n, want := range map[int]string{3: "595.28 x 419.53 pts", 9: "419.53 x 595.28 pts"} {
		f, err := weirCard(n).Figure()
		if err != nil {
			t.Fatal(err)
		}
		if info := poppler(t, "pdfinfo", savePDF(t, f)); !strings.Contains(info, want) {
			t.Errorf("%d lines: want a page of %s, got\n%s", n, want, info)
		}
	}
}

// poppler prints a line a fault, so that a clean conversion is a check of the
// whole drawing against an independent reader.
func TestPDFsAreSound(t *testing.T) {
	curve, _ := weirCurve().Figure(Light())
	fan, _ := weirFan(60).Figure(Light())
	odd := weirCard(3)
	odd.Machine = "Łódź ↑ 水車 No. 2" // outside the PDF's code page
	card, _ := odd.Figure()
	for name, f := range map[string]*Figure{"curve": curve, "fan": fan, "card": card} {
		if out := poppler(t, "pdftoppm", "-r", "30", "-png", savePDF(t, f), filepath.Join(t.TempDir(), "page")); out != "" {
			t.Errorf("%s: poppler complains:\n%s", name, out)
		}
	}
}

// Common practice, no published source: a digit reads well at up to 200 to 300
// times its height, so 7 mm at two metres.
func TestSettingsReadFromTwoMetres(t *testing.T) {
	for n := 1; n <= 10; n++ {
		card := weirCard(n)
		f, err := card.Figure()
		if err != nil {
			t.Fatal(err)
		}
		largest := map[string]float64{}
		for _, part := range svgParts(t, f) {
			largest[part.text] = max(largest[part.text], part.size)
		}
		for _, line := range card.Lines {
			high := largest[signed(line.SettingSteps)] * capHeight / float64(mm)
			if high < 7 {
				t.Errorf("%d lines: setting %d is %.1f mm high", n, line.SettingSteps, high)
			}
		}
	}
}

func TestCardRowsKeepWhatMattersMost(t *testing.T) {
	line := Settled{Song: " Low\nWater ", TempoBPM: 96.5, Voice: "elm block", SettingSteps: -3, MoveSteps: -5,
		WindowBPM: [2]float64{90.2, 103.9}, LagMS: -0.7, Date: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)}.words("14 Mar 2026")
	if line.tempo != "96.5" || line.song != "Low Water" {
		t.Errorf("tempo %q, song %q", line.tempo, line.song)
	}
	// The window is rounded inward: what the card promises must hold.
	if want := []string{"elm block", "good 91 to 103 BPM", "0.7 ms early · 1 Mar 2026"}; !slices.Equal(line.details, want) {
		t.Errorf("details %q, want %q", line.details, want)
	}
	bare := Settled{TempoBPM: nan, LagMS: nan}.words("")
	if bare.tempo != "?" || len(bare.details) != 0 {
		t.Errorf("a bare line says %+v", bare)
	}
}

func TestColumns(t *testing.T) {
	for lines, want := range map[int]int{1: 1, 6: 1, 10: 1, 20: 2} {
		if got := columns(lines, 368, 335); got != want {
			t.Errorf("%d lines in %d columns, want %d", lines, got, want)
		}
	}
}

func TestEmptyCardInvites(t *testing.T) {
	f, err := Card{Machine: "Weir Lane No. 2", ToleranceMS: 6}.Figure()
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(svgTexts(t, f), " ")
	for _, want := range []string{emptyCard, caution[0], caution[1]} {
		if !strings.Contains(all, want) {
			t.Errorf("the empty card lacks %q", want)
		}
	}
}

func TestPlateHasItsNotches(t *testing.T) {
	for notches, want := range map[int]int{0: 0, 12: 12, 48: 48, 96: 96, 360: 90} {
		v := Card{NotchesPerTurn: notches}.view()
		deep := 0
		for _, p := range v.rim(vg.Point{}, 100) {
			if p.X*p.X+p.Y*p.Y < 95*95 {
				deep++
			}
		}
		if deep != want {
			t.Errorf("%d notches: %d drawn, want %d", notches, deep, want)
		}
	}
}

func TestSaveWritesEveryFormat(t *testing.T) {
	f, err := weirCard(2).Figure()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, magic := range map[string]string{"card.png": "\x89PNG", "card.SVG": "<?xml", "card.pdf": "%PDF-"} {
		path := filepath.Join(dir, name)
		if err := f.Save(path); err != nil {
			t.Fatal(err)
		}
		if data, _ := os.ReadFile(path); !bytes.HasPrefix(data, []byte(magic)) {
			t.Errorf("%s begins with %q", name, data[:min(len(data), 8)])
		}
	}
	if files, _ := os.ReadDir(dir); len(files) != 3 {
		t.Errorf("%d files left behind, want 3", len(files))
	}
}

func TestSaveRefusesInWords(t *testing.T) {
	f, _ := weirCard(2).Figure()
	dir := t.TempDir()
	for name, want := range map[string]string{
		"card.bmp":      "use .png, .svg or .pdf",
		"card":          "use .png, .svg or .pdf",
		"missing/a.png": "no such file",
	} {
		err := f.Save(filepath.Join(dir, name))
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v, want one with %q", name, err, want)
		}
	}
	if files, _ := os.ReadDir(dir); len(files) != 0 {
		t.Errorf("a refused figure left %v behind", files)
	}
	var buf bytes.Buffer
	if err := f.WriteTo(&buf, "gif"); err == nil || buf.Len() != 0 {
		t.Errorf("gif: error %v, %d bytes", err, buf.Len())
	}
}
