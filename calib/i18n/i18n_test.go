package i18n

import (
	"errors"
	"io/fs"
	"testing"
)

func german(t *testing.T) {
	words := map[string]string{
		"%d steps %s":           "%[2]s um %[1]d Schritte",
		"ahead":                 "vor",
		"one step":              "ein Schritt",
		"%d steps":              "%d Schritte",
		"%s cannot be read: %w": "%s ist nicht lesbar: %w",
	}
	Use(&Language{Tag: "de", Comma: true, Look: func(s string) string {
		if w, ok := words[s]; ok {
			return w
		}
		return s
	}})
	t.Cleanup(func() { Use(nil) })
}

func TestEnglishWithoutALanguage(t *testing.T) {
	for got, want := range map[string]string{
		L("ahead"):                      "ahead",
		F("%.1f ms", 1.25):              "1.2 ms",
		N(1, "one step", "%d steps", 1): "one step",
		N(0, "one step", "%d steps", 0): "0 steps",
		N(2, "one step", "%d steps", 2): "2 steps",
		Decimal("0.5"):                  "0.5",
		Tag():                           "en",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestALanguage(t *testing.T) {
	german(t)
	for got, want := range map[string]string{
		F("%d steps %s", 3, L("ahead")):                 "vor um 3 Schritte",
		F("%6.2f|%+.1f|%.4g", 1.5, float32(2.25), 84.5): "  1,50|+2,2|84,5",
		N(1, "one step", "%d steps", 1):                 "ein Schritt",
		N(7, "one step", "%d steps", 7):                 "7 Schritte",
		F("never heard of %v", 0.5):                     "never heard of 0,5",
		Decimal("12.25"):                                "12,25",
		Tag():                                           "de",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	err := Errorf("%s cannot be read: %w", "take-001.wav", fs.ErrNotExist)
	if !errors.Is(err, fs.ErrNotExist) || err.Error() != "take-001.wav ist nicht lesbar: file does not exist" {
		t.Errorf("got %q", err)
	}
}

func TestWhereNoneIsOne(t *testing.T) {
	Use(&Language{Tag: "fr", Look: func(s string) string { return s }, One: func(n int) bool { return n < 2 }})
	t.Cleanup(func() { Use(nil) })
	if got := N(0, "one step", "%d steps", 0); got != "one step" {
		t.Errorf("got %q: French counts none as one", got)
	}
}
