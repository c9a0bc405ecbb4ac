package assets

import (
	"bytes"
	"cmp"
	"encoding/json"
	"image/png"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/font/sfnt"

	"lagwright/internal/must"
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
		f := must.Get(sfnt.Parse(Font("ja", bold)))(t)
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

// languages are those that there is a catalogue for, and English.
func languages(t *testing.T) (tags []string) {
	t.Helper()
	files := must.Get(Translations.ReadDir("translations"))(t)
	for _, f := range files {
		if tag, is := strings.CutSuffix(f.Name(), ".json"); is {
			tags = append(tags, tag)
		}
	}
	return append(tags, "en")
}

// Every page is in the contents, has a title, and shows pictures that are there.
func TestHandbook(t *testing.T) {
	shown := regexp.MustCompile(`!\[[^\]]+\]\(([^)]+)\)`)
	for _, tag := range languages(t) {
		var names []string
		for _, p := range append(Handbook(tag), page("README.md", "en")) {
			names = append(names, p.Name)
			if !strings.HasPrefix(p.Text, "# "+p.Title+"\n") || p.Title == "" {
				t.Errorf("%s: the page %s begins with %.40q, want a title", tag, p.Name, p.Text)
			}
			for _, m := range shown.FindAllStringSubmatch(p.Text, -1) {
				if _, err := png.DecodeConfig(bytes.NewReader(HandbookPicture(m[1]))); err != nil {
					t.Errorf("%s: the page %s shows %s: %v", tag, p.Name, m[1], err)
				}
			}
		}
		files, err := filepath.Glob("handbook/*.md")
		if err != nil || len(names) < 10 {
			t.Fatalf("%s: %d pages (%v)", tag, len(names), err)
		}
		for _, f := range files {
			name, in, translated := strings.Cut(strings.TrimSuffix(filepath.Base(f), ".md"), ".")
			if !slices.Contains(names, name+".md") || translated && !slices.Contains(languages(t), in) {
				t.Errorf("%s: nothing leads to the page %s", tag, f)
			}
		}
	}
}

// catalogue is that of a language: each English phrase, and what it is there.
func catalogue(t *testing.T, tag string) (phrases map[string]string) {
	t.Helper()
	data := must.Get(Translations.ReadFile("translations/" + tag + ".json"))(t)
	must.Do(t, json.Unmarshal(data, &phrases))
	return phrases
}

// Words that a language has given up are in none of its phrases: they said something
// else, or there is one word per thing (translations/README.md).
func TestWordsGivenUp(t *testing.T) {
	for tag, words := range map[string]string{
		"de": `Schrot|[Ss]charf|Zeitversatz|Lockout|Leitklick`,
		"sv": `\b[Hh]agel`,
		"fr": `[Rr]épertoire|gigue|grenaille|Défai|goupille|Jouer une prise`,
		"ja": `声部|装置|手放し|ぴたり|拍の上で`,
	} {
		given := regexp.MustCompile(words)
		for english, said := range catalogue(t, tag) {
			if found := given.FindString(said); found != "" {
				t.Errorf("%s: %q has %q, in what stands for %q", tag, said, found, english)
			}
		}
	}
}

var verb = regexp.MustCompile(`%(\[\d+\])?[-+.\d]*[a-z]`)

// The pages print in bold what the window calls things, in Japanese, which has no room for
// bold words, in its quotation marks: each is a phrase of it, those of a menu and its
// command apart, and a number where the phrase has a verb.
func TestHandbookCallsThingsAsTheWindowDoes(t *testing.T) {
	for _, tag := range languages(t) {
		marked, apart, catalogued := regexp.MustCompile(`\*\*([^*]+)\*\*`), " > ", catalogue(t, cmp.Or(map[string]string{"en": "de"}[tag], tag))
		if tag == "ja" {
			marked, apart = regexp.MustCompile(`「([^」]+>[^」]+)」`), ">" // a blank would break the line
		}
		var phrases []*regexp.Regexp
		for english, phrase := range catalogued {
			if tag == "en" {
				phrase = english
			}
			if verb.ReplaceAllString(phrase, "") != "" {
				phrases = append(phrases, regexp.MustCompile("^"+verb.ReplaceAllString(regexp.QuoteMeta(phrase), `\d+`)+"$"))
			}
		}
		checked := 0
		for _, p := range Handbook(tag) {
			if strings.HasPrefix(p.Name, "cautions") {
				continue // its first sentence is in bold
			}
			for _, m := range marked.FindAllStringSubmatch(p.Text, -1) {
				for name := range strings.SplitSeq(m[1], apart) {
					checked++
					if !slices.ContainsFunc(phrases, func(phrase *regexp.Regexp) bool { return phrase.MatchString(name) }) {
						t.Errorf("%s: the page %s prints %q, which the window does not say", tag, p.Name, name)
					}
				}
			}
		}
		if checked < 40 {
			t.Errorf("%s: only %d names are marked", tag, checked)
		}
	}
}

// Every page is there in every language, with the same headings, lists, cautions, pictures,
// code and links.
func TestHandbookIsWhole(t *testing.T) {
	shape := regexp.MustCompile(`(?m)^(#+ |- |\d\. |> |    .*$)|!\[|\]\([^)]+\)|` + "`[^`]+`")
	for _, tag := range languages(t) {
		for i, p := range Handbook(tag) {
			want := Handbook("en")[i]
			if tag != "en" && p.Title == want.Title && p.Text == want.Text {
				t.Errorf("the page %s is not there in %s", p.Name, tag)
			}
			of := func(text string) (found []string) {
				for _, m := range shape.FindAllString(text, -1) {
					m, _, _ = strings.Cut(m, " # ") // comments, and what a law is of, are words
					found = append(found, strings.TrimSpace(m[max(strings.Index(m, " = "), 0):]))
				}
				slices.Sort(found) // another language has another order
				return found
			}
			figures := regexp.MustCompile(`[0-9]+[.,][0-9]+`)
			if got, want := strings.ReplaceAll(strings.Join(figures.FindAllString(p.Text, -1), " "), ",", "."), strings.Join(figures.FindAllString(want.Text, -1), " "); !sameWords(got, strings.ReplaceAll(want, ",", ".")) {
				t.Errorf("%s: the page %s has the figures %s, want %s", tag, p.Name, got, want)
			}
			if got, want := of(p.Text), of(want.Text); !slices.Equal(got, want) {
				t.Errorf("%s: the page %s has\n%q, want\n%q", tag, p.Name, got, want)
			}
		}
	}
}

// sameWords reports whether two texts have the same words, in whatever order.
func sameWords(a, b string) bool {
	x, y := strings.Fields(a), strings.Fields(b)
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}
