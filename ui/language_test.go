package ui

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/i18n"
	"lagwright/internal/must"
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

// With a decimal comma numbers are shown with it and typed either way; what is kept
// is the number.
func TestNumbersWithAComma(t *testing.T) {
	inEnglish(t)
	must.Do(t, prefs.Speak("de"))
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
	tempo.Entry.SetText("92,25")
	tempo.OnSubmitted("")
	if got := w.desk.Machine().Songs[0].TempoBPM; got != 92.25 || tempo.Text != "92,25" {
		t.Errorf("kept %g BPM, shown as %q", got, tempo.Text)
	}
}

// Another language comes with the next start, and what is kept is its tag.
func TestLanguageIsKept(t *testing.T) {
	inEnglish(t)
	w := testWindow(t)
	w.askPreferences()
	pressIn(t, w, "As the system")
	inDialog[*kit.Rows](t, w)[0].Select(3) // Svenska, after the computer's
	pressIn(t, w, "Keep")
	if tag := w.desk.Prefs.String(prefs.KeyLanguage); tag != "sv" || i18n.Tag() != prefs.English {
		t.Errorf("kept %q, and the window speaks %s already", tag, i18n.Tag())
	}
	w.desk.Prefs.Speak() // as New does
	again := newWindow(fyne.CurrentApp(), w.desk.Sound, w.desk.Jobs.Spawn)
	defer again.put(nil)
	if i18n.Tag() != "sv" || again.desk.Win.MainMenu().Items[0].Label != "Maskin" || i18n.L("Cancel") != "Avbryt" {
		t.Errorf("the next window speaks %s", i18n.Tag())
	}
}

// What a dialog's button says takes it away in any language.
func TestEscapeInAnotherLanguage(t *testing.T) {
	inEnglish(t)
	must.Do(t, prefs.Speak("ja"))
	w := testWindow(t)
	for name, open := range map[string]func(){
		"preferences": w.askPreferences, "help": func() { w.showHandbook("") }, "open": w.welcome.ChooseMachine,
		"replace": func() { w.desk.Overwrite(t.TempDir(), func(string) { t.Error("saved") }) },
	} {
		open()
		if !kit.DismissTop(w.desk.Win.Canvas()) || w.desk.Win.Canvas().Overlays().Top() != nil {
			t.Errorf("%s does not go away", name)
			w.desk.Win.Canvas().Overlays().Remove(w.desk.Win.Canvas().Overlays().Top())
		}
	}
}

// French has a narrow space before some signs, however a translator typed it.
func TestFrenchSpaces(t *testing.T) {
	inEnglish(t)
	must.Do(t, prefs.Speak("fr"))
	if got := i18n.L("How sure?"); got != "Certitude\u202f?" {
		t.Errorf("%+q", got)
	}
	for _, english := range []string{"%s failed: %w", "Ready: turn the crank whenever you like."} {
		if said := i18n.L(english); strings.Contains(said, " :") || !strings.Contains(said, "\u202f:") {
			t.Errorf("%+q", said)
		}
	}
}

// With text twice the size the set list has all its columns in sight, and breaks no word
// of the last.
func TestSetListInLargeText(t *testing.T) {
	inEnglish(t)
	w := testWindow(t)
	w.desk.Prefs.SetString(prefs.KeyText, "200")
	w.desk.Prefs.ApplyTheme(prefs.LeastText, prefs.MostText)
	const room = 1024 - 8 // of the smallest window, beside what is around the list
	for _, l := range prefs.Languages {
		must.Do(t, prefs.Speak(l.Tag))
		lines := setlist.SongColumns()
		for _, columns := range lines {
			if wide := columns.MinSize(nil).Width; wide > room {
				t.Errorf("%s: the columns take %.0f pixels", l.Tag, wide)
			}
		}
		last := lines[1].Widths(room)[setlist.SureColumn-len(lines[0].Titles)]
		for _, words := range []string{"Verified", "Sure", "Nothing fits", "Not yet"} {
			for word := range strings.FieldsSeq(i18n.L(words)) {
				if wide := fyne.MeasureText(word, theme.TextSize(), fyne.TextStyle{}).Width + 2*theme.InnerPadding(); wide > last && l.Tag != "ja" {
					t.Errorf("%s: %q takes %.0f of %.0f pixels", l.Tag, word, wide, last)
				}
			}
		}
	}
}
