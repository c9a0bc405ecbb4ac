package prefs

import (
	"encoding/json"
	"log/slog"
	"os"
	"regexp"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/lang"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
	xlanguage "golang.org/x/text/language"

	"lagwright/assets"
	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// English is the tag of the language that the phrases are written in.
const English = "en"

// Language is one that the window can be in.
type Language struct {
	Tag   string // BCP 47
	Name  string // in itself
	comma bool
	one   func(n int) bool // n things take the singular; nil = one does
}

// Languages are those to choose from.
var Languages = []Language{
	{Tag: English, Name: "English"},
	{Tag: "de", Name: "Deutsch", comma: true},
	{Tag: "sv", Name: "Svenska", comma: true},
	{Tag: "fr", Name: "Français", comma: true, one: func(n int) bool { return n < 2 }},
	{Tag: "ja", Name: "日本語", one: func(int) bool { return false }},
}

// LanguageChoices are the languages to choose from, the system's first.
func LanguageChoices() []labelled {
	all := []labelled{{"", i18n.L("As the system")}}
	for _, l := range Languages {
		all = append(all, labelled{l.Tag, l.Name})
	}
	return all
}

// allLetters is the tag of the language whose font has the letters of all of them.
const allLetters = "ja"

// languageChoice shows the language that was chosen and asks for another by a list of its
// own: the toolkit's choice would open one in a font that lacks the letters of some.
func (p Prefs) languageChoice(f *kit.Frame) (shown fyne.CanvasObject, keep func()) {
	all := LanguageChoices()
	lettered := func(o fyne.CanvasObject) fyne.CanvasObject {
		return container.NewThemeOverride(o, look.Lettered(fyne.CurrentApp().Settings().Theme(), allLetters))
	}
	at := max(0, slices.IndexFunc(all, func(l labelled) bool { return l.value == p.String(KeyLanguage) }))
	b := kit.NewButtonWithIcon("", theme.MenuDropDownIcon(), nil)
	b.Alignment, b.IconPlacement = widget.ButtonAlignLeading, widget.ButtonIconTrailingText
	holder := container.NewStack(b)
	say := func() {
		b.SetText(all[at].Words)
		if all[at].value == allLetters { // only then: the toolkit never forgets what it put another theme over
			holder.Objects[0] = lettered(b)
		}
		holder.Refresh()
	}
	say()
	b.OnTapped = func() {
		list := kit.NewRows(i18n.L("Language"), func() int { return len(all) }, func(i int) string { return all[i].Words })
		d := f.Closable(i18n.L("Language"), lettered(list), 360, 400)
		list.OnSelected = func(i widget.ListItemID) {
			d.Hide()
			at = i
			say()
			f.Focus(b)
		}
		f.Focus(list)
	}
	return holder, func() { p.SetString(KeyLanguage, all[at].value) }
}

// Speak puts all words into the language that is preferred.
func (p Prefs) Speak() {
	if err := Speak(p.String(KeyLanguage)); err != nil {
		slog.Warn("the window stays in English", "error", err) // tests read every catalogue
	}
}

// Speak puts the window and the toolkit into a language: that of a tag, or the
// computer's where it is empty. One without a catalogue gives English throughout.
func Speak(tag string) error {
	if tag == "" {
		tag = computersLanguage()
	}
	at := max(0, slices.IndexFunc(Languages, func(l Language) bool { return l.Tag == tag }))
	turnToolkit(Languages[at].Tag)
	if Languages[at].Tag == English {
		i18n.Use(nil)
		return plotting.UseFont(nil, nil)
	}
	used, err := CatalogueOf(Languages[at])
	if err != nil {
		return err
	}
	i18n.Use(used)
	return plotting.UseFont(assets.Font(used.Tag, false), assets.Font(used.Tag, true))
}

// frenchSpace stands before these signs in French, narrow, and no line breaks at it: who
// translates need not type it.
var frenchSpace = regexp.MustCompile(` ([:;?!])`)

// CatalogueOf returns a language with what its catalogue says.
func CatalogueOf(l Language) (*i18n.Language, error) {
	data, err := assets.Translations.ReadFile("translations/" + l.Tag + ".json")
	if err != nil {
		return nil, err
	}
	known := map[string]string{} // never written to again
	if err := json.Unmarshal(data, &known); err != nil {
		return nil, err
	}
	if l.Tag == "fr" {
		for english, said := range known {
			known[english] = frenchSpace.ReplaceAllString(said, "\u202f$1")
		}
	}
	return &i18n.Language{Tag: l.Tag, Comma: l.comma, One: l.one, Look: func(english string) string {
		if said := known[english]; said != "" {
			return said
		}
		return english
	}}, nil
}

// computersLanguage returns the tag of the language that the computer asks for:
// English where there is no catalogue. Our phrases are not left to the toolkit: it
// cannot be told to use another language than the computer's, and it refuses some
// phrases as keys.
func computersLanguage() string {
	var tags []xlanguage.Tag
	for _, l := range Languages {
		tags = append(tags, xlanguage.Make(l.Tag))
	}
	_, at, sure := xlanguage.NewMatcher(tags).Match(xlanguage.Make(lang.SystemLocale().String()))
	if sure < xlanguage.High {
		return English
	}
	return Languages[at].Tag
}

// turnToolkit has the toolkit's own words, such as those of file dialogs, in a
// language. It looks in the environment which one the person wants whenever it is
// taught words. On Windows and macOS it asks the system instead, and these words stay
// in the system's language. The environment is put back at once: programs that we
// start, and keyboards with dead keys, go by it as well.
func turnToolkit(tag string) {
	for _, name := range []string{"LC_ALL", "LANGUAGE"} {
		was, set := os.LookupEnv(name)
		os.Setenv(name, tag)
		defer func() {
			if set {
				os.Setenv(name, was)
			} else {
				os.Unsetenv(name)
			}
		}()
	}
	if err := lang.AddTranslationsForLocale([]byte("{}"), English); err != nil {
		slog.Warn("the toolkit stays in the computer's language", "error", err)
	}
}
