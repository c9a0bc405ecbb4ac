package ui

import (
	"slices"
	"testing"
	"unicode/utf8"

	"lagwright/ui/sign"
)

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
		if got := sign.Wrap(c.text, c.width, letters); !slices.Equal(got, c.want) {
			t.Errorf("%q at %g: got %q, want %q", c.text, c.width, got, c.want)
		}
	}
}
