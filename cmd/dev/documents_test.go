package main

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestDocumentsAreMade works out numbers and figures of the pages anew: text must
// be the same, figures as good as the same.
func TestDocumentsAreMade(t *testing.T) {
	t.Chdir(houseRoot(t))
	made, err := makeDocuments(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(made) != len(pages)+len(figuresOfPages) {
		t.Errorf("%d documents are made", len(made))
	}
	for path, want := range made {
		got, err := os.ReadFile(path)
		switch {
		case err != nil:
			t.Error(err)
		case filepath.Ext(path) == ".png":
			if share := differs(t, got, want); share > mostDiffers {
				t.Errorf("%s differs from what the program draws in %.2f %% of its pixels: run go run ./cmd/dev documents and look at it", path, 100*share)
			}
		case !bytes.Equal(got, want):
			t.Errorf("%s is not as the program works it out: run go run ./cmd/dev documents and read what changes", path)
		}
	}
}

// mostDiffers is the share of pixels that rounding on another processor may move.
const mostDiffers = 0.002

// differs returns the share of pixels of two PNGs that are plainly not the same.
func differs(t *testing.T, a, b []byte) float64 {
	t.Helper()
	one, err := png.Decode(bytes.NewReader(a))
	if err != nil {
		t.Fatal(err)
	}
	other, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	if one.Bounds() != other.Bounds() {
		return 1
	}
	n := 0
	for y := range one.Bounds().Dy() {
		for x := range one.Bounds().Dx() {
			r, g, b, _ := one.At(x, y).RGBA()
			u, v, w, _ := other.At(x, y).RGBA()
			if apart(r, u)+apart(g, v)+apart(b, w) > 0x3000 {
				n++
			}
		}
	}
	return float64(n) / float64(one.Bounds().Dx()*one.Bounds().Dy())
}

func apart(a, b uint32) uint32 { return max(a, b) - min(a, b) }

// A figure with one more take on it would be told apart.
func TestFiguresAreToldApart(t *testing.T) {
	drawn := image.NewRGBA(image.Rect(0, 0, 1240, 694))
	var plain, dotted bytes.Buffer
	if err := png.Encode(&plain, drawn); err != nil {
		t.Fatal(err)
	}
	for y := range 20 {
		for x := range 100 {
			drawn.Set(300+x, 200+y, color.RGBA{0, 158, 115, 255})
		}
	}
	if err := png.Encode(&dotted, drawn); err != nil {
		t.Fatal(err)
	}
	if same, other := differs(t, plain.Bytes(), plain.Bytes()), differs(t, plain.Bytes(), dotted.Bytes()); same != 0 || other <= mostDiffers {
		t.Errorf("the same picture differs by %g, another by %g", same, other)
	}
}

func TestFilled(t *testing.T) {
	pieces := map[string]piece{"sum": func(*worked) (string, error) { return "1 + 1 = 2\n", nil }}
	const open, shut = "<!-- made: sum -->\n", "<!-- end -->\n"
	got, err := filled("before\n"+open+"old\n"+shut+"after\n", pieces, nil)
	if want := "before\n" + open + "1 + 1 = 2\n" + shut + "after\n"; err != nil || string(got) != want {
		t.Errorf("%q, %v, want %q", got, err, want)
	}
	for page, says := range map[string]string{
		"no mark":                        "no mark on the page",
		open + "old":                     "not closed",
		open + shut + open + shut:        "twice",
		"<!-- made: other -->\n" + shut:  "nothing makes",
		"<!-- made: sum --> \n" + shut:   "not closed",
		open + shut + "<!-- made: sum\n": "not closed",
	} {
		if _, err := filled(page, pieces, nil); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: error %v, want one that says %q", page, err, says)
		}
	}
}

// Numbers in the pages' own sentences are those of the code.
func TestPagesNameTrueNumbers(t *testing.T) {
	t.Chdir(houseRoot(t))
	for _, c := range []struct{ page, words, file, constant, value string }{
		{"calib/LAW.md", "g = 9.80665 m/s²", "calib/fall.go", "StandardGravity", "9.80665"},
		{"calib/LAW.md", "by 0.3 ms that takes of an untouched machine differ by", "calib/read.go", "TakeToTakeMS", "0.3"},
		{"calib/LAW.md", "From 10 hits on", "calib/robust.go", "enoughForCorrelation", "10"},
		{"calib/LAW.md", "a fiftieth of the slower first rise", "calib/signal/measure.go", "pickShare", "0.02"},
		{"calib/LAW.md", "one sample between channels", "calib/budget.go", "skewFrames", "1.0"},
		{"calib/LAW.md", "100 parts in a million", "calib/budget.go", "clockShare", "100e-6"},
		{"calib/LAW.md", "twelve likeliest", "calib/search.go", "keepExplanations", "12"},
		{"calib/LAW.md", "or, as likely, anywhere", "calib/law.go", "usualElsewhere", "0.5"},
		{"calib/LAW.md", "5 ms unless said otherwise", "calib/advice.go", "DefaultToleranceMS", "5"},
		{"calib/LAW.md", "Farther than 8 %", "calib/advice.go", "notNear", "0.08"},
		{"calib/LAW.md", "farther than 20 %", "calib/advice.go", "farOff", "0.2"},
		{"calib/LAW.md", "at most 10 steps", "calib/advice.go", "TrialSteps", "10"},
		{"calib/LAW.md", "worse than 12 %", "calib/law.go", "knownStep", "0.12"},
		{"calib/LAW.md", "grows by more than 10", "calib/slip.go", "hardlyPossible", "10"},
		{"calib/LAW.md", "evenly over 150 ms", "calib/plan/fault.go", "badSpreadMS", "150.0"},
		{"calib/signal/MEASURING.md", "farther from the median than 4 + 8/n", "calib/read.go", "farSD", "4"},
		{"calib/signal/MEASURING.md", "and 4 ms", "calib/read.go", "farFloorMS", "4"},
		{"calib/signal/MEASURING.md", "1.4826 times", "calib/robust.go", "madScale", "1.482602218505602"},
	} {
		text, err := os.ReadFile(c.page)
		if err != nil {
			t.Fatal(err)
		}
		found, err := constantsIn(c.file)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), c.words) || found[c.constant].value != c.value {
			t.Errorf("%s says %q; %s in %s is %q, and was %q when that was written", c.page, c.words, c.constant, c.file, found[c.constant].value, c.value)
		}
	}
}

var linkTo = regexp.MustCompile(`\]\(([^)#]+)\)`)

// Links of the pages lead somewhere.
func TestLinksOfPages(t *testing.T) {
	t.Chdir(houseRoot(t))
	links := 0
	for _, page := range []string{"README.md", "DEVELOPERS.md", "calib/LAW.md", "calib/signal/MEASURING.md", "calib/session/FORMAT.md"} {
		text, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range linkTo.FindAllStringSubmatch(string(text), -1) {
			links++
			if strings.Contains(m[1], "://") {
				continue
			}
			if _, err := os.Stat(filepath.Join(filepath.Dir(page), m[1])); err != nil {
				t.Errorf("%s links to %s, which is not there", page, m[1])
			}
		}
	}
	if links < 10 {
		t.Errorf("only %d links were found", links)
	}
}
