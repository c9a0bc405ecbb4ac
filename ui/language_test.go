package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"
	"fyne.io/fyne/v2/theme"

	"lagwright/assets"
	"lagwright/calib/i18n"
	"lagwright/ui/help"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
	"lagwright/ui/setlist"
)

// inEnglish has the window speak English again once a test is over.
func inEnglish(t *testing.T) {
	t.Helper()
	t.Setenv("LC_ALL", "en_GB.UTF-8")
	t.Cleanup(func() { prefs.Speak(prefs.English) })
}

func TestTheWindowSpeaksTheComputersLanguage(t *testing.T) {
	inEnglish(t)
	for locale, want := range map[string]struct{ tag, cancel string }{
		"C": {"en", "Cancel"}, "": {"en", "Cancel"}, "en_US.UTF-8": {"en", "Cancel"},
		"de_AT.UTF-8": {"de", "Abbrechen"}, "sv_FI": {"sv", "Avbryt"}, "fr_CA": {"fr", "Annuler"}, "ja_JP.UTF-8": {"ja", "キャンセル"},
		"es_ES.UTF-8": {"en", "Cancel"}, "zh_CN.UTF-8": {"en", "Cancel"}, "tlh": {"en", "Cancel"},
	} {
		t.Setenv("LC_ALL", locale)
		t.Setenv("LANGUAGE", "")
		t.Setenv("LANG", "")
		t.Setenv("LC_MESSAGES", "")
		if err := prefs.Speak(""); err != nil {
			t.Fatal(err)
		}
		if tag := i18n.Tag(); tag != want.tag || i18n.L("Cancel") != want.cancel || lang.L("Cancel") != want.cancel {
			t.Errorf("%q gives %s, ours %q, the toolkit's %q; want %+v", locale, tag, i18n.L("Cancel"), lang.L("Cancel"), want)
		}
	}
}

func TestAChosenLanguageBeatsTheComputers(t *testing.T) {
	inEnglish(t)
	t.Setenv("LC_ALL", "es_ES.UTF-8")
	for tag, want := range map[string]string{"en": "Cancel", "de": "Abbrechen", "sv": "Avbryt", "fr": "Annuler", "ja": "キャンセル", "xx": "Cancel"} {
		if err := prefs.Speak(tag); err != nil {
			t.Fatal(err)
		}
		if i18n.L("Cancel") != want || lang.L("Cancel") != want {
			t.Errorf("%s: ours %q, the toolkit's %q; want %q", tag, i18n.L("Cancel"), lang.L("Cancel"), want)
		}
	}
}

func TestDecimalsAndPluralsOfLanguages(t *testing.T) {
	inEnglish(t)
	for tag, want := range map[string][3]string{
		"en": {"0 many", "1 one", "0.5"}, "de": {"0 many", "1 one", "0,5"}, "sv": {"0 many", "1 one", "0,5"},
		"fr": {"0 one", "1 one", "0,5"}, "ja": {"0 many", "1 many", "0.5"},
	} {
		if err := prefs.Speak(tag); err != nil {
			t.Fatal(err)
		}
		got := [3]string{i18n.N(0, "%d one", "%d many", 0), i18n.N(1, "%d one", "%d many", 1), i18n.Decimal("0.5")}
		if got != want {
			t.Errorf("%s gives %q, want %q", tag, got, want)
		}
	}
}

// With a decimal comma numbers are shown with it and typed either way; what is kept
// is the number.
func TestNumbersWithAComma(t *testing.T) {
	inEnglish(t)
	if err := prefs.Speak("de"); err != nil {
		t.Fatal(err)
	}
	w := testWindow(t)
	w.desk.Prefs.SetFloat(prefs.KeyTolerance, 3.5)
	w.desk.Prefs.SetString(prefs.KeyUnit, "in")
	w.askPreferences()
	tolerance := inDialog[*kit.Field](t, w)[0]
	if tolerance.Text != "3,5" {
		t.Errorf("a tolerance of 3.5 ms is shown as %q", tolerance.Text)
	}
	tolerance.SetText("4.5")
	pressIn(t, w, i18n.L("Keep"))
	if w.desk.Prefs.Tolerance() != 4.5 || w.desk.Prefs.Unit().Name != "in" {
		t.Errorf("kept %g ms and %s", w.desk.Prefs.Tolerance(), w.desk.Prefs.Unit().Name)
	}
	u := w.desk.Prefs.Unit()
	if shown := u.Figure(12.7); shown != "0,5" {
		t.Errorf("12.7 mm are shown as %q in", shown)
	}
	if mm, err := u.Length("0,25", 12.7); err != nil || mm != 6.35 {
		t.Errorf("0,25 in is %g mm, %v", mm, err)
	}
	if said := u.Words("Senke den Fall um 12,7 mm."); said != "Senke den Fall um 0,500 in." {
		t.Errorf("says %q", said)
	}
	w.Practice()
	w.listSongs()
	w.songs.AddSong()
	tempo := w.songs.Rows[0].Cells[setlist.TempoColumn]
	tempo.SetText("92,25")
	tempo.Done()
	if got := w.desk.Session().Songs[0].TempoBPM; got != 92.25 || tempo.Text != "92,25" {
		t.Errorf("kept %g BPM, shown as %q", got, tempo.Text)
	}
}

// Another language comes with the next start, and what is kept is its tag.
func TestLanguageIsKept(t *testing.T) {
	inEnglish(t)
	w := testWindow(t)
	w.askPreferences()
	inDialog[*kit.Choice](t, w)[3].SetSelected("Svenska")
	pressIn(t, w, "Keep")
	if tag := w.desk.Prefs.String(prefs.KeyLanguage); tag != "sv" || i18n.Tag() != prefs.English {
		t.Errorf("kept %q, and the window speaks %s already", tag, i18n.Tag())
	}
	w.desk.Prefs.Speak() // as New does
	again := newWindow(fyne.CurrentApp(), w.desk.Sound, w.desk.Jobs.Spawn)
	defer again.put(nil)
	if i18n.Tag() != "sv" || again.desk.Win.MainMenu().Items[0].Label != "Session" || i18n.L("Cancel") != "Avbryt" {
		t.Errorf("the next window speaks %s", i18n.Tag())
	}
}

// Whatever language is in use, its font has the letters of all that can be chosen.
func TestLanguageChoicesCanBeDrawn(t *testing.T) {
	inEnglish(t)
	for _, l := range prefs.Languages {
		if err := prefs.Speak(l.Tag); err != nil {
			t.Fatal(err)
		}
		shown := assets.Font(l.Tag, false)
		if shown == nil {
			shown = theme.DefaultTheme().Font(fyne.TextStyle{}).Content()
		}
		font := parseFont(t, shown)
		for _, choice := range prefs.LanguageChoices() {
			for _, r := range choice.Words {
				if glyph, err := font.GlyphIndex(nil, r); err != nil || glyph == 0 {
					t.Errorf("in %s %q has no %q", l.Name, choice.Words, r)
				}
			}
		}
	}
}

// What a dialog's button says takes it away in any language.
func TestEscapeInAnotherLanguage(t *testing.T) {
	inEnglish(t)
	if err := prefs.Speak("ja"); err != nil {
		t.Fatal(err)
	}
	w := testWindow(t)
	for name, open := range map[string]func(){
		"preferences": w.askPreferences, "help": func() { help.Show(w.desk) }, "open": w.welcome.ChooseSession,
		"replace": func() { w.desk.Overwrite(t.TempDir(), func(string) { t.Error("saved") }) },
	} {
		open()
		if !kit.DismissTop(w.desk.Win.Canvas()) || w.desk.Win.Canvas().Overlays().Top() != nil {
			t.Errorf("%s does not go away", name)
			w.desk.Win.Canvas().Overlays().Remove(w.desk.Win.Canvas().Overlays().Top())
		}
	}
}
