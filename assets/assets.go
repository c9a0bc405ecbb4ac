// Package assets holds the files that are built into the program.
package assets

import "embed"

// Icon is the program's icon, a PNG of 512 by 512 pixels: a hit of the reference
// above the line, a hit of the voice below it, and the lag between them, on an
// index plate. icon.svg is the same picture in lines.
//
//go:embed icon.png
var Icon []byte

// Translations has a catalogue for each language in translations: de.json and so
// on, a flat object from each English phrase to what it is in that language.
//
//go:embed translations
var Translations embed.FS

var (
	//go:embed fonts/noto-sans-jp-regular.ttf
	japanese []byte
	//go:embed fonts/noto-sans-jp-bold.ttf
	japaneseBold []byte
)

// Font returns a TrueType font with the characters of a language, given as a BCP 47
// tag such as "ja", and of all other languages that there is a catalogue for. It is
// nil where the usual fonts have them already.
func Font(tag string, bold bool) []byte {
	switch {
	case tag != "ja":
		return nil
	case bold:
		return japaneseBold
	}
	return japanese
}
