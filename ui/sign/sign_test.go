package sign

import (
	"slices"
	"testing"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
)

// The headline is as large as its place allows and never wider than it, down to
// its smallest size.
func TestSignFits(t *testing.T) {
	test.NewTempApp(t)
	s := New(44, 22, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300)
	s.Text = "Turn the programme 26 steps ahead"
	wide, lines := s.Fit(fyne.NewSize(1200, 120))
	if wide != 44 || len(lines) != 1 {
		t.Errorf("with room: size %g in %d lines", wide, len(lines))
	}
	narrow, lines := s.Fit(fyne.NewSize(420, 120))
	if narrow < 30 || len(lines) != 2 {
		t.Errorf("in 420: size %g in %q", narrow, lines)
	}
	small, lines := s.Fit(fyne.NewSize(320, 60))
	if small < 22 || small > narrow {
		t.Errorf("in 320×60: size %g in %q", small, lines)
	}
	for _, line := range lines {
		if got := fyne.MeasureText(line, small, s.Style).Width; got > 320 {
			t.Errorf("%q is %g wide at size %g", line, got, small)
		}
	}
	if got := s.MinSize(); got.Width != 300 || got.Height < 2*22 {
		t.Errorf("asks for %v", got)
	}
}

func TestWrapWithAndWithoutSpaces(t *testing.T) {
	letters := func(s string) float32 { return float32(utf8.RuneCountInString(s)) }
	for _, c := range []struct {
		text  string
		width float32
		want  []string
	}{
		{"", 5, []string{""}},
		{"turn 5 ahead", 6, []string{"turn 5", "ahead"}},
		{"5\u00a0steps ahead", 7, []string{"5\u00a0steps", "ahead"}},
		{"unbreakable word", 4, []string{"unbreakable", "word"}},
		{"板を前へ回す", 3, []string{"板を前", "へ回す"}},
		{"止めて、待つ。", 3, []string{"止め", "て、待", "つ。"}},
		{"次の「音」", 3, []string{"次の", "「音」"}},
		{"板を 26 歩進める", 5, []string{"板を 26", "歩進める"}},
		{"84 BPMで打つ", 6, []string{"84 BPM", "で打つ"}},
		{"ずれ±5.0 ms", 5, []string{"ずれ", "±5.0", "ms"}},
	} {
		if got := wrap(c.text, c.width, letters); !slices.Equal(got, c.want) {
			t.Errorf("%q at %g: got %q, want %q", c.text, c.width, got, c.want)
		}
	}
}
