// Package assets holds the files that are built into the program.
package assets

import (
	"embed"
	"regexp"
	"strings"
)

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

//go:embed handbook machine.png card.png report.png window-*.png
var handbook embed.FS

// Page is one of the handbook.
type Page struct {
	Name  string // as other pages link to it, "take.md"
	Title string
	Text  string // Markdown, the title with it
}

var pageOf = regexp.MustCompile(`(?m)^- \[[^\]]*\]\(([a-z-]+\.md)\)`)

// Handbook returns the pages in the order of handbook/README.md, in the language of a BCP 47
// tag, as take.de.md, or in English where there are none in that.
func Handbook(tag string) (pages []Page) {
	for _, m := range pageOf.FindAllStringSubmatch(page("README.md", "").Text, -1) {
		pages = append(pages, page(m[1], tag))
	}
	return pages
}

func page(name, tag string) Page {
	text, err := handbook.ReadFile("handbook/" + strings.TrimSuffix(name, ".md") + "." + tag + ".md")
	if err != nil {
		text, _ = handbook.ReadFile("handbook/" + name) // a test looks for each
	}
	title, _, _ := strings.Cut(strings.TrimPrefix(string(text), "# "), "\n")
	return Page{name, title, string(text)}
}

// HandbookPicture returns the PNG that a page shows as, say, "../card.png"; nil where
// there is none.
func HandbookPicture(link string) []byte {
	data, _ := handbook.ReadFile(strings.TrimPrefix(link, "../"))
	return data
}
