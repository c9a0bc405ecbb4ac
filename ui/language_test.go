package ui

import (
	"testing"

	"fyne.io/fyne/v2/lang"

	"lagwright/calib/phrase"
)

// inEnglish has the window speak English again once a test is over.
func inEnglish(t *testing.T) {
	t.Helper()
	t.Setenv("LC_ALL", "en_GB.UTF-8")
	t.Cleanup(func() { phrase.Use(nil); turnToolkit(english) })
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
		if err := speak(""); err != nil {
			t.Fatal(err)
		}
		if tag := phrase.Tag(); tag != want.tag || phrase.L("Cancel") != want.cancel || lang.L("Cancel") != want.cancel {
			t.Errorf("%q gives %s, ours %q, the toolkit's %q; want %+v", locale, tag, phrase.L("Cancel"), lang.L("Cancel"), want)
		}
	}
}

func TestAChosenLanguageBeatsTheComputers(t *testing.T) {
	inEnglish(t)
	t.Setenv("LC_ALL", "es_ES.UTF-8")
	for tag, want := range map[string]string{"en": "Cancel", "de": "Abbrechen", "sv": "Avbryt", "fr": "Annuler", "ja": "キャンセル", "xx": "Cancel"} {
		if err := speak(tag); err != nil {
			t.Fatal(err)
		}
		if phrase.L("Cancel") != want || lang.L("Cancel") != want {
			t.Errorf("%s: ours %q, the toolkit's %q; want %q", tag, phrase.L("Cancel"), lang.L("Cancel"), want)
		}
	}
}

func TestDecimalsAndPluralsOfLanguages(t *testing.T) {
	inEnglish(t)
	for tag, want := range map[string][3]string{
		"en": {"0 many", "1 one", "0.5"}, "de": {"0 many", "1 one", "0,5"}, "sv": {"0 many", "1 one", "0,5"},
		"fr": {"0 one", "1 one", "0,5"}, "ja": {"0 many", "1 many", "0.5"},
	} {
		if err := speak(tag); err != nil {
			t.Fatal(err)
		}
		got := [3]string{phrase.N(0, "%d one", "%d many", 0), phrase.N(1, "%d one", "%d many", 1), phrase.Decimal("0.5")}
		if got != want {
			t.Errorf("%s gives %q, want %q", tag, got, want)
		}
	}
}
