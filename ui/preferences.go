package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/ui/look"
)

// Names and values of the preferences that are chosen in a dialog.
const (
	prefText      = "text"      // percent of the usual size
	prefUnit      = "unit"      // of drops, balls and circles of pins
	prefTolerance = "tolerance" // of new sessions, ms
	prefSessions  = "sessions"  // the folder of new sessions; empty = the usual one

	themeSystem = "system"
	themeLight  = "light"
	themeDark   = "dark"
)

// labelled is a value of a preference and how it is called.
type labelled struct{ value, words string }

func themes() []labelled {
	return []labelled{{themeSystem, i18n.L("As the system")}, {themeLight, i18n.L("Light")}, {themeDark, i18n.L("Dark")}}
}

var textSizes = []int{100, 125, 150, 200}

func textWords(percent int) string { return fmt.Sprintf("%d %%", percent) }

// applyTheme shows the window in the theme and with the text that are preferred.
func (w *Window) applyTheme() {
	prefs := w.app.Preferences()
	th := look.New()
	switch prefs.StringWithFallback(prefTheme, themeSystem) {
	case themeLight:
		th = look.Forced(theme.VariantLight)
	case themeDark:
		th = look.Forced(theme.VariantDark)
	}
	percent := min(max(prefs.IntWithFallback(prefText, 100), textSizes[0]), textSizes[len(textSizes)-1])
	w.app.Settings().SetTheme(look.Larger(th, float32(percent)/100))
}

// relook shows another theme or size of text at once.
func (w *Window) relook() {
	w.applyTheme()
	w.arrange()
	w.lay()
	w.refresh()
}

func (w *Window) themeMenu() *fyne.MenuItem {
	chosen := w.app.Preferences().StringWithFallback(prefTheme, themeSystem)
	i := fyne.NewMenuItem(i18n.L("Theme"), nil)
	i.ChildMenu = fyne.NewMenu("")
	for _, t := range themes() {
		one := entry(t.words, nil, true, func() {
			w.app.Preferences().SetString(prefTheme, t.value)
			w.relook()
		})
		one.Checked = t.value == chosen
		i.ChildMenu.Items = append(i.ChildMenu.Items, one)
	}
	return i
}

func (w *Window) textMenu() *fyne.MenuItem {
	chosen := w.app.Preferences().IntWithFallback(prefText, 100)
	i := fyne.NewMenuItem(i18n.L("Text size"), nil)
	i.ChildMenu = fyne.NewMenu("")
	for _, percent := range textSizes {
		one := entry(textWords(percent), nil, true, func() {
			w.app.Preferences().SetInt(prefText, percent)
			w.relook()
		})
		one.Checked = percent == chosen
		i.ChildMenu.Items = append(i.ChildMenu.Items, one)
	}
	return i
}

// tolerance is that of new sessions, ms.
func (w *Window) tolerance() float64 {
	return w.app.Preferences().FloatWithFallback(prefTolerance, calib.DefaultToleranceMS)
}

// sessionsIn is the folder in which new sessions are made.
func (w *Window) sessionsIn() string {
	if dir := w.app.Preferences().String(prefSessions); dir != "" {
		return dir
	}
	return session.DefaultRoot()
}

// askPreferences asks for what the window keeps for every session.
func (w *Window) askPreferences() {
	if !w.free() {
		return
	}
	prefs := w.app.Preferences()
	looks := newChoice(nil, nil)
	for _, t := range themes() {
		looks.Options = append(looks.Options, t.words)
		if t.value == prefs.StringWithFallback(prefTheme, themeSystem) {
			looks.Selected = t.words
		}
	}
	text := newChoice(nil, nil)
	for _, percent := range textSizes {
		text.Options = append(text.Options, textWords(percent))
	}
	text.Selected = textWords(prefs.IntWithFallback(prefText, 100))
	speaks := newChoice(nil, nil)
	tongues := languageChoices()
	for _, l := range tongues {
		speaks.Options = append(speaks.Options, l.words)
		if l.value == prefs.String(prefLanguage) {
			speaks.Selected = l.words
		}
	}
	units := newChoice(unitNames(), nil)
	units.Selected = w.unit().name
	tones := newTick(i18n.L("heard while a take is played"), nil)
	tones.Checked = prefs.BoolWithFallback(prefTones, true)
	hints := newTick(i18n.L("shown with the simulated machine"), nil)
	hints.Checked = w.hints()
	tolerance := number(figure(w.tolerance()), 0.5, 100, false)
	folder := newField(w.sessionsIn())
	folder.Validator = folderNamed
	folder.ActionItem = newIconButton(i18n.L("Choose the folder"), theme.FolderOpenIcon(), func() { w.chooseFolder(folder) })
	w.form(i18n.L("Preferences"), i18n.L("Keep"), []*widget.FormItem{
		item(i18n.L("Theme"), "", looks),
		item(i18n.L("Text size"), "", text),
		item(i18n.L("Lengths in"), i18n.L("drop, ball and pins, where you enter and read them"), units),
		item(i18n.L("Language"), i18n.L("from the next start on"), speaks),
		item(i18n.L("Tones"), i18n.L("Record > Tones and guide click… has more"), tones),
		item(i18n.L("Hints"), i18n.L("for the first loop"), hints),
		item(i18n.L("Tolerance, ms"), i18n.L("of new sessions: a lag within it counts as together"), tolerance),
		item(i18n.L("Sessions live in"), i18n.L("new ones; those that are there stay where they are"), folder),
	}, func() {
		prefs.SetString(prefTheme, themes()[max(0, looks.SelectedIndex())].value)
		prefs.SetInt(prefText, textSizes[max(0, text.SelectedIndex())])
		prefs.SetString(prefLanguage, tongues[max(0, speaks.SelectedIndex())].value)
		prefs.SetString(prefUnit, units.Selected)
		prefs.SetBool(prefTones, tones.Checked)
		prefs.SetFloat(prefTolerance, value(tolerance))
		w.keepFolder(folder.Text)
		w.setHints(hints.Checked)
		w.relook()
	})
	w.win.Canvas().Focus(looks)
}

// keepFolder keeps where new sessions live; the usual place is kept as no choice,
// so that it stays usual.
func (w *Window) keepFolder(dir string) {
	if dir == session.DefaultRoot() {
		dir = ""
	}
	w.app.Preferences().SetString(prefSessions, dir)
}

// chooseFolder asks for a folder and writes it into a field.
func (w *Window) chooseFolder(into *field) {
	d := dialog.NewFolderOpen(func(folder fyne.ListableURI, err error) {
		if err != nil || folder == nil {
			w.tell(err)
			return
		}
		into.SetText(folder.Path())
	}, w.win)
	from(d, into.Text)
	w.showFolders(d)
}
