package assets

import (
	"bytes"
	"image/png"
	"testing"

	"golang.org/x/image/font/sfnt"
)

func TestIcon(t *testing.T) {
	config, err := png.DecodeConfig(bytes.NewReader(Icon))
	if err != nil || config.Width != 512 || config.Height != 512 {
		t.Errorf("the icon is %d by %d, error %v, want a PNG of 512 by 512", config.Width, config.Height, err)
	}
}

// What the window writes in every language, and some of Japanese.
const written = "AZaz09 äöåéèçœß–—…·×±²³µ′″→−≤≥“”‘’„« » ÷°%あアー漢字拍遅早速、。「」〇々"

func TestFontHasTheLetters(t *testing.T) {
	for _, bold := range []bool{false, true} {
		f, err := sfnt.Parse(Font("ja", bold))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range written {
			if glyph, err := f.GlyphIndex(nil, r); err != nil || glyph == 0 {
				t.Errorf("bold %t has no %q", bold, r)
			}
		}
	}
	for _, tag := range []string{"en", "de", "sv", "fr"} {
		if Font(tag, false) != nil || Font(tag, true) != nil {
			t.Errorf("%s needs no font of its own", tag)
		}
	}
}
