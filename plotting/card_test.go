package plotting

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"image"
	"image/png"
	"iter"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/internal/must"
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
	must.Do(t, f.Save(path))
	return path
}

func TestCardPDFHoldsEverySettingAsText(t *testing.T) {
	for _, n := range []int{1, 5, 6, 12, 40} {
		card := weirCard(n)
		f := card.Figure(A5)
		words := strings.Fields(poppler(t, "pdftotext", "-raw", savePDF(t, f), "-"))
		for _, line := range card.Lines {
			wantTexts(t, words, compact(line.TempoBPM), calib.SettingWords(line.SettingSteps))
		}
		all := strings.Join(words, " ")
		for _, sentence := range append(caution(), card.Machine) {
			if !strings.Contains(all, sentence) {
				t.Errorf("%d lines: the PDF lacks %q", n, sentence)
			}
		}
	}
}

// A5 is 148 mm by 210 mm and A4 210 mm by 297 mm (ISO 216), Letter 8.5 by 11
// inches (ANSI/ASME Y14.1), values from memory; 72 points to the inch.
func TestCardPaper(t *testing.T) {
	for _, test := range []struct {
		paper Paper
		lines int
		want  string
	}{
		{"", 3, "595.28 x 419.53 pts"}, {A5, 9, "419.53 x 595.28 pts"},
		{A4, 3, "841.89 x 595.28 pts"}, {A4, 9, "595.28 x 841.89 pts"},
		{Letter, 3, "792 x 612 pts"}, {Letter, 9, "612 x 792 pts"},
	} {
		card := weirCard(test.lines)
		f := card.Figure(test.paper)
		if info := poppler(t, "pdfinfo", savePDF(t, f)); !strings.Contains(info, test.want) {
			t.Errorf("%q, %d lines: want a page of %s, got\n%s", test.paper, test.lines, test.want, info)
		}
	}
	if _, err := PaperNamed("B7"); err == nil || !strings.Contains(err.Error(), `"B7" is unknown; use A5, A4 or Letter`) {
		t.Errorf("paper B7: %v", err)
	}
}

// A long list flows to more pages, which pdfinfo counts, in playing order.
func TestCardFlows(t *testing.T) {
	for _, test := range []struct {
		paper        Paper
		lines, pages int
	}{{A5, 0, 1}, {A5, 9, 1}, {A5, 10, 2}, {A5, 12, 2}, {A5, 40, 5}, {A4, 12, 1}, {A4, 40, 4}, {Letter, 12, 1}, {Letter, 40, 4}} {
		card := weirCard(test.lines)
		f := card.Figure(test.paper)
		path := savePDF(t, f)
		if info := poppler(t, "pdfinfo", path); !strings.Contains(info, fmt.Sprintf("Pages:           %d\n", test.pages)) {
			t.Errorf("%s, %d lines: want %d pages, got\n%s", test.paper, test.lines, test.pages, info)
		}
		pages := strings.Split(poppler(t, "pdftotext", "-raw", path, "-"), "\f")
		if test.pages > 1 && !strings.Contains(pages[1], fmt.Sprintf("page 2 of %d", test.pages)) {
			t.Errorf("%s, %d lines: page 2 says\n%s", test.paper, test.lines, pages[1])
		}
		for i, page := range pages[:test.pages] {
			if !strings.Contains(page, caution()[0]) || !strings.Contains(page, card.Machine) {
				t.Errorf("%s, %d lines: page %d lacks the caution or the machine", test.paper, test.lines, i+1)
			}
		}
	}
}

// poppler prints a line a fault, so that a clean conversion is a check of the
// whole drawing against an independent reader.
func TestPDFsAreSound(t *testing.T) {
	curve := weirCurve().Figure(inks)
	fan := weirFan(60).figure()
	odd := weirCard(3)
	odd.Machine = "Łódź ↑ 水車 No. 2" // outside the PDF's code page
	card := odd.Figure(A5)
	cut := weirReport()
	cut.Picture.Near = Stretch{FromS: 3.55, ToS: 4.4, Reference: cut.Picture.Near.Reference, Voice: cut.Picture.Near.Voice} // it begins within a pair
	report := cut.Figure(A5)
	for name, f := range map[string]*Figure{"curve": curve, "fan": fan, "card": card, "report": report} {
		if out := poppler(t, "pdftoppm", "-r", "30", "-png", savePDF(t, f), filepath.Join(t.TempDir(), "page")); out != "" {
			t.Errorf("%s: poppler complains:\n%s", name, out)
		}
	}
}

// Common practice, no published source: letters read well at 200 times their
// height, so digits of 10 mm at two metres.
func TestDigitsReadFromTwoMetres(t *testing.T) {
	for _, paper := range []Paper{A5, A4, Letter} {
		for _, n := range []int{1, 3, 5, 6, 12, 13, 40, 100} {
			card := weirCard(n)
			card.Lines[0].TempoBPM, card.Lines[0].SettingSteps = 143.5, -120
			f := card.Figure(paper)
			largest := map[string]float64{}
			for _, page := range pages(f) {
				for _, part := range svgParts(t, page) {
					largest[part.text] = max(largest[part.text], part.size*capHeight/float64(mm))
				}
			}
			for i, line := range card.Lines {
				if s := calib.SettingWords(line.SettingSteps); largest[s] < 10 {
					t.Errorf("%s, %d lines: the setting %q is %.2f mm high", paper, n, s, largest[s])
				}
				least := 10.0
				if i == 0 {
					least = 7 // tenths
				}
				if s := compact(line.TempoBPM); largest[s] < least {
					t.Errorf("%s, %d lines: the tempo %q is %.2f mm high", paper, n, s, largest[s])
				}
			}
		}
	}
}

// Nothing may reach the page's edge: printers leave some
// 5 mm blank (common practice, no published source).
func TestCardStaysWithinItsMargins(t *testing.T) {
	for _, n := range []int{0, 3, 12, 40} {
		card := weirCard(n)
		f := card.Figure(A5)
		for i, page := range pages(f) {
			img := printout(page, 25) // about a millimetre a pixel
			for at := range border(img.Bounds().Inset(4)) {
				if r, _, _, _ := img.At(at.X, at.Y).RGBA(); r < 0xF000 {
					t.Fatalf("%d lines, page %d: ink at %v", n, i+1, at)
				}
			}
		}
	}
}

// border goes through the outermost pixels of a rectangle.
func border(r image.Rectangle) iter.Seq[image.Point] {
	return func(yield func(image.Point) bool) {
		for x := r.Min.X; x < r.Max.X; x++ {
			for y := r.Min.Y; y < r.Max.Y; y++ {
				if at := image.Pt(x, y); !at.In(r.Inset(1)) && !yield(at) {
					return
				}
			}
		}
	}
}

func TestCardRowsKeepWhatMattersMost(t *testing.T) {
	line := Settled{Song: " Low\nWater ", TempoBPM: 96.5, Voice: "elm block", SettingSteps: -3, MoveSteps: -5,
		WindowBPM: [2]float64{90.2, 103.9}, LagMS: -0.7, RestMS: 1.25, Stands: loop.Verified, Date: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)}
	words := line.words("14 Mar 2026")
	if words.tempo != "96.5" || words.song != "Low Water" {
		t.Errorf("tempo %q, song %q", words.tempo, words.song)
	}
	// The window is rounded inward: what the card promises must hold.
	if want := []string{"good 91 to 103 BPM", "0.7 ms early ± 1.2 · elm block · 1 Mar 2026"}; !slices.Equal(words.details, want) {
		t.Errorf("details %q, want %q", words.details, want)
	}
	line.Stands = loop.Open
	if words := line.words(""); words.details[0] != listenFirst() {
		t.Errorf("a line that is not sure says %q", words.details)
	}
	if line.Stands = loop.OnEdge; line.words("").stands != loop.OnEdge || !strings.HasPrefix(line.words("").details[0], "as near as the plate goes") {
		t.Errorf("a line on the edge says %+v", line.words(""))
	}
	line.Song = ""
	if words := line.words(""); words.song != "elm block" || strings.Contains(strings.Join(words.details, " "), "elm block") {
		t.Errorf("without a song the line says %+v", words)
	}
	bare := Settled{TempoBPM: nan, LagMS: nan, RestMS: nan, Stands: loop.Verified}.words("")
	if bare.tempo != "?" || len(bare.details) != 0 {
		t.Errorf("a bare line says %+v", bare)
	}
}

func TestWindowWords(t *testing.T) {
	for _, test := range []struct {
		window [2]float64
		want   string
	}{
		{[2]float64{90.2, 103.9}, "good 91 to 103 BPM"},
		{[2]float64{103.21, 103.89}, "good 103.3 to 103.8 BPM"},
		{[2]float64{103.21, 103.25}, ""},
		{[2]float64{0, 71.5}, "good up to 71 BPM"},
		{[2]float64{140.5, inf}, "good from 141 BPM"},
		{[2]float64{0, inf}, "good at any tempo"},
		{[2]float64{}, ""}, {[2]float64{nan, 90}, ""}, {[2]float64{90, nan}, ""}, {[2]float64{90, 80}, ""}, {[2]float64{-5, 80}, ""},
	} {
		if got := windowWords(test.window, nan); got != test.want {
			t.Errorf("window %v: %q, want %q", test.window, got, test.want)
		}
	}
	for own, want := range map[float64]string{72: "not tight at 72 BPM", 70.8: "good 68 to 70.8 BPM", 67.7: "good 67.7 to 70 BPM", 69: "good 68 to 70 BPM"} {
		if got := windowWords([2]float64{67.6, 70.9}, own); got != want {
			t.Errorf("a song at %g BPM: %q, want %q", own, got, want)
		}
	}
}

// The first move of a page starts at a setting that is not on it, and says which:
// where the plate stands before the first song, or the last line of the page before.
func TestFirstMoveSaysWhereItStarts(t *testing.T) {
	card := weirCard(13)
	card.Lines[0].SettingSteps, card.Lines[0].MoveSteps = 19, 7
	f := card.Figure(A5)
	first, second := svgTexts(t, pages(f)[0]), svgTexts(t, pages(f)[1])
	last := calib.SettingWords(card.Lines[6].SettingSteps)
	if !slices.Contains(first, "from +12") || slices.Contains(first, "from +19") || !slices.Contains(second, "from "+last) {
		t.Errorf("the moves start as in\n%q and\n%q, want from +12 and from %s", first, second, last)
	}
}

func TestEmptyCardInvites(t *testing.T) {
	f := Card{Machine: "Weir Lane No. 2", ToleranceMS: 6}.Figure(A5)
	all := strings.Join(svgTexts(t, f), " ")
	for _, want := range []string{"No settings yet: tune one tempo of the set list, and its setting is printed here.", caution()[0], caution()[1]} {
		if !strings.Contains(all, want) {
			t.Errorf("the empty card lacks %q", want)
		}
	}
}

// The column says what its lines are called by.
func TestCardNamesItsColumn(t *testing.T) {
	song, voice := Settled{Song: "Heron", TempoBPM: 72, Voice: "tub drum"}, Settled{TempoBPM: 96, Voice: "tub drum"}
	for want, lines := range map[string][]Settled{"song; lag expected by all takes": {song, song}, "voice; lag expected by all takes": {voice}, "song or voice; lag expected by all takes": {song, voice}} {
		f := Card{Machine: "Weir Lane No. 2", ToleranceMS: 6, Lines: lines}.Figure(A5)
		if texts := svgTexts(t, f); !slices.Contains(texts, want) {
			t.Errorf("%d lines: no column %q in %q", len(lines), want, texts)
		}
	}
}

func TestSaveWritesEveryFormat(t *testing.T) {
	f := weirCard(2).Figure(A5)
	dir := t.TempDir()
	for name, magic := range map[string]string{"card.csv": "song,tempo_bpm,", "card.png": "\x89PNG", "card.SVG": "<?xml", "card.pdf": "%PDF-"} {
		path := filepath.Join(dir, name)
		must.Do(t, f.Save(path))
		if data, _ := os.ReadFile(path); !bytes.HasPrefix(data, []byte(magic)) {
			t.Errorf("%s begins with %q", name, data[:min(len(data), 8)])
		}
	}
	if files, _ := os.ReadDir(dir); len(files) != 4 {
		t.Errorf("%d files left behind, want 4", len(files))
	}
}

func TestSaveRefusesInWords(t *testing.T) {
	f := weirCard(2).Figure(A5)
	dir := t.TempDir()
	for name, want := range map[string]string{
		"card.bmp":      "use .png, .svg, .pdf or .csv",
		"card":          "use .png, .svg, .pdf or .csv",
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

// Whatever the format there is one file; in a picture the pages lie below each other.
func TestSaveWritesEveryPage(t *testing.T) {
	f := weirCard(13).Figure(A5)
	dir := t.TempDir()
	for _, name := range []string{"a.pdf", "b.csv", "c.svg", "d.1.PNG"} {
		must.Do(t, f.Save(filepath.Join(dir, name)))
	}
	if files, _ := os.ReadDir(dir); len(files) != 4 {
		t.Errorf("%d files, want 4", len(files))
	}
	if texts := svgTexts(t, f); slices.IndexFunc(texts, func(s string) bool { return strings.HasPrefix(s, "page 1 of 2") }) > slices.IndexFunc(texts, func(s string) bool { return strings.HasPrefix(s, "page 2 of 2") }) {
		t.Errorf("the first page is not first in %q", texts)
	}
	file := must.Get(os.Open(filepath.Join(dir, "d.1.PNG")))(t)
	defer file.Close()
	both := must.Get(png.Decode(file))(t)
	one := printout(pages(f)[0], paperDPI).Bounds().Size()
	if all := both.Bounds().Size(); all.X != one.X || all.Y < 2*one.Y-1 || all.Y > 2*one.Y+1 {
		t.Errorf("a picture of two pages of %v is %v", one, all)
	}
	for i, top := range []int{0, one.Y} {
		half := both.(interface {
			SubImage(image.Rectangle) image.Image
		}).SubImage(image.Rect(0, top, one.X, top+one.Y))
		if n := inked(half); n < one.X*one.Y/50 {
			t.Errorf("page %d of the picture has %d inked pixels", i+1, n)
		}
	}
}

// A picture of very many pages would take memory for each: it is refused, and no file left.
func TestPictureOfTooManyPages(t *testing.T) {
	f, path := weirCard(400).Figure(A4), filepath.Join(t.TempDir(), "card.png")
	if err := f.Save(path); err == nil || !strings.Contains(err.Error(), fmt.Sprintf("has %d pages, too many for one picture: save it as .pdf", f.Pages())) {
		t.Errorf("%d pages: %v", f.Pages(), err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("there is a file")
	}
}

// encoding/csv, a reader of RFC 4180, is the reference.
func TestCardCSV(t *testing.T) {
	card := weirCard(2)
	card.Lines[0].Song = "Reel, \"the slow\" one"
	card.Lines[0].Voice, card.Lines[0].LagVoice = "tub drum, elm block", "elm block"
	card.Lines[0].Rests = []VoiceRest{{"tub drum", -1, 0.6}, {"elm block", 2.9, 1.4}}
	card.Lines[1].Voice, card.Lines[1].Rests = "elm block, brass bar", []VoiceRest{{"brass bar", 0.25, nan}} // the elm block has no take
	card.Lines[1].LagMS, card.Lines[1].WindowBPM, card.Lines[1].Stands, card.Lines[1].Date = nan, [2]float64{}, loop.Open, time.Time{}
	f := card.Figure(A5)
	var buf bytes.Buffer
	must.Do(t, f.WriteTo(&buf, "csv"))
	got := must.Get(csv.NewReader(&buf).ReadAll())(t)
	want := [][]string{
		{"song", "tempo_bpm", "voice", "setting_steps", "move_steps", "window_low_bpm", "window_high_bpm", "lag_ms", "rest_ms", "sure", "verified", "on_edge", "date",
			"lag_voice", "tub drum lag_ms", "tub drum rest_ms", "elm block lag_ms", "elm block rest_ms", "brass bar lag_ms", "brass bar rest_ms"},
		{"Reel, \"the slow\" one", "72", "tub drum, elm block", "19", "19", "66.8", "78.4", "2.90", "1.40", "true", "true", "false", "2026-03-14",
			"elm block", "-1.00", "0.60", "2.90", "1.40", "", ""},
		{"Millwright's Reel", "109", "elm block, brass bar", "28", "9", "", "", "", "1.40", "false", "false", "false", "", "", "", "", "", "", "0.25", ""},
	}
	if !slices.EqualFunc(got, want, slices.Equal) {
		t.Errorf("the table is\n%q, want\n%q", got, want)
	}
	curve := weirCurve().Figure(inks)
	if err := curve.WriteTo(&buf, "csv"); err == nil {
		t.Error("a curve is no table, yet it is saved as CSV")
	}
}
