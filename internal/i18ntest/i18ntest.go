// Package i18ntest is a language for tests. It puts each phrase into brackets, so that
// words that were not translated stand out.
package i18ntest

import (
	"strings"
	"testing"
	"unicode"

	"lagwright/calib/i18n"
)

const (
	open    = "⟦"
	closing = "⟧"
)

// Use speaks the language until the test ends.
func Use(t testing.TB) {
	t.Helper()
	i18n.Use(&i18n.Language{Tag: "marked", Comma: true, Look: func(english string) string { return open + english + closing }})
	t.Cleanup(func() { i18n.Use(nil) })
}

// Bare returns what of a text no phrase said, if there is a letter in it. Names
// are nobody's phrases.
func Bare(text string, names ...string) string {
	for _, name := range names {
		if name != "" {
			text = strings.ReplaceAll(text, name, "")
		}
	}
	var bare strings.Builder
	depth := 0
	for _, r := range text {
		switch string(r) {
		case open:
			depth++
		case closing:
			depth--
		default:
			if depth == 0 {
				bare.WriteRune(r)
			}
		}
	}
	if strings.IndexFunc(bare.String(), unicode.IsLetter) < 0 && depth == 0 {
		return ""
	}
	return bare.String()
}

// All fails the test for each text that says more than phrases and names, or
// nothing at all.
func All(t testing.TB, texts []string, names ...string) {
	t.Helper()
	for _, text := range texts {
		if text == "" || Bare(text, names...) != "" {
			t.Errorf("no phrase says %q of %q", Bare(text, names...), text)
		}
	}
	if len(texts) == 0 {
		t.Error("nothing was said")
	}
}
