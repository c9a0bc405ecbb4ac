package prefs

import (
	"math"
	"testing"

	"fyne.io/fyne/v2/lang"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/i18n"
	"lagwright/internal/must"
	"lagwright/plotting"
)

// inEnglish has the window speak English again once a test is over.
func inEnglish(t *testing.T) {
	t.Helper()
	t.Setenv("LC_ALL", "en_GB.UTF-8")
	t.Cleanup(func() { Speak(English) })
}

// One inch is 25.4 mm (international yard and pound agreement of 1959).
func TestLengthsInInches(t *testing.T) {
	in := units[1]
	if got := in.Figure(304.8); got != "12" {
		t.Errorf("304.8 mm are %s in", got)
	}
	if got, err := in.Length("0.5", 300); err != nil || math.Abs(got-12.7) > 1e-9 {
		t.Errorf("0.5 in are %v mm, %v", got, err)
	}
	for _, mm := range []float64{300, 11.1125, 7.001, 0} {
		if got, err := in.Length(in.Figure(mm), mm); err != nil || got != mm {
			t.Errorf("%v mm come back as %v, %v", mm, got, err)
		}
	}
	if _, err := in.Length("high", 1); err == nil {
		t.Error("high is a length")
	}
	const said = "raise the voice by 51 mm for a shorter drop, or move its pins 2.5 mm ahead"
	if got, want := in.Words(said), "raise the voice by 2.01 in for a shorter drop, or move its pins 0.098 in ahead"; got != want {
		t.Errorf("said as %q, want %q", got, want)
	}
	if units[0].Words(said) != said {
		t.Error("mm are changed")
	}
}

func TestPaperChosen(t *testing.T) {
	p := Of(test.NewTempApp(t))
	for chosen, want := range map[string]plotting.Paper{"": plotting.A5, "A4": plotting.A4, "Letter": plotting.Letter, "A0": plotting.A5} {
		if p.SetString(KeyPaper, chosen); p.Paper() != want {
			t.Errorf("%q chosen: %s, want %s", chosen, p.Paper(), want)
		}
	}
}

func TestAChosenLanguageBeatsTheComputers(t *testing.T) {
	inEnglish(t)
	t.Setenv("LC_ALL", "es_ES.UTF-8")
	for tag, want := range map[string]string{"en": "Cancel", "de": "Abbrechen", "sv": "Avbryt", "fr": "Annuler", "ja": "キャンセル", "xx": "Cancel"} {
		must.Do(t, Speak(tag))
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
		must.Do(t, Speak(tag))
		got := [3]string{i18n.N(0, "%d one", "%d many", 0), i18n.N(1, "%d one", "%d many", 1), i18n.Decimal("0.5")}
		if got != want {
			t.Errorf("%s gives %q, want %q", tag, got, want)
		}
	}
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
		must.Do(t, Speak(""))
		if tag := i18n.Tag(); tag != want.tag || i18n.L("Cancel") != want.cancel || lang.L("Cancel") != want.cancel {
			t.Errorf("%q gives %s, ours %q, the toolkit's %q; want %+v", locale, tag, i18n.L("Cancel"), lang.L("Cancel"), want)
		}
	}
}
