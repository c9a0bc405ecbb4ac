// Package prefs has what a person prefers, the same for every session: theme, text,
// language, units, where sessions live. The toolkit keeps it.
package prefs

import (
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/plotting"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// Prefs are what a person chose for every session, as the toolkit keeps it for the app.
type Prefs struct {
	fyne.Preferences
	settings fyne.Settings
}

// Of returns those of an app.
func Of(app fyne.App) Prefs { return Prefs{app.Preferences(), app.Settings()} }

// Names and values of the preferences.
const (
	KeyTheme      = "theme"
	KeyTones      = "tones"
	KeyClick      = "guide.click"
	KeyOutput     = "output"
	KeyHints      = "hints"      // whether the first loop is hinted at
	KeyRecordings = "recordings" // the folder the last recording was opened from
	KeyPaper      = "paper"
	KeyLanguage   = "language"  // tag of the one that was chosen; empty = the computer's
	KeyText       = "text"      // percent of the usual size
	KeyUnit       = "unit"      // of drops, balls and circles of pins
	KeyTolerance  = "tolerance" // of new sessions, ms
	KeySessions   = "sessions"  // the folder of new sessions; empty = the usual one

	themeSystem = "system"
	themeLight  = "light"
	themeDark   = "dark"
)

// labelled is a value of a preference and how it is called.
type labelled struct{ value, Words string }

func themes() []labelled {
	return []labelled{{themeSystem, i18n.L("As the system")}, {themeLight, i18n.L("Light")}, {themeDark, i18n.L("Dark")}}
}

// TextSizes are those to choose from, in percent of the usual one.
var TextSizes = []int{100, 125, 150, 200}

func texts() (all []labelled) {
	for _, percent := range TextSizes {
		all = append(all, labelled{strconv.Itoa(percent), fmt.Sprintf("%d %%", percent)})
	}
	return all
}

func (p Prefs) setText(percent string) {
	n, _ := strconv.Atoi(percent) // it is one of textSizes
	p.SetInt(KeyText, n)
}

// ApplyTheme shows the app in the theme and with the text that are preferred.
func (p Prefs) ApplyTheme() {
	th := look.New()
	switch p.StringWithFallback(KeyTheme, themeSystem) {
	case themeLight:
		th = look.Forced(theme.VariantLight)
	case themeDark:
		th = look.Forced(theme.VariantDark)
	}
	percent := min(max(p.IntWithFallback(KeyText, 100), TextSizes[0]), TextSizes[len(TextSizes)-1])
	p.settings.SetTheme(look.Larger(th, float32(percent)/100))
}

// choices is a menu entry with one entry for each value of a preference, the chosen
// one checked; keep keeps another.
func choices(label string, all []labelled, chosen string, keep func(value string)) *fyne.MenuItem {
	i := fyne.NewMenuItem(label, nil)
	i.ChildMenu = fyne.NewMenu("")
	for _, one := range all {
		item := fyne.NewMenuItem(one.Words, func() { keep(one.value) })
		item.Checked = one.value == chosen
		i.ChildMenu.Items = append(i.ChildMenu.Items, item)
	}
	return i
}

// ThemeMenu chooses the theme; changed shows it.
func (p Prefs) ThemeMenu(changed func()) *fyne.MenuItem {
	return choices(i18n.L("Theme"), themes(), p.StringWithFallback(KeyTheme, themeSystem), func(value string) {
		p.SetString(KeyTheme, value)
		changed()
	})
}

// TextMenu chooses the size of text; changed shows it.
func (p Prefs) TextMenu(changed func()) *fyne.MenuItem {
	return choices(i18n.L("Text size"), texts(), strconv.Itoa(p.IntWithFallback(KeyText, 100)), func(value string) {
		p.setText(value)
		changed()
	})
}

// PaperMenu chooses the sheet that cards, curves and reports are saved for.
func (p Prefs) PaperMenu(changed func()) *fyne.MenuItem {
	var papers []labelled
	for _, paper := range []plotting.Paper{plotting.A5, plotting.A4, plotting.Letter} {
		papers = append(papers, labelled{string(paper), string(paper)})
	}
	return choices(i18n.L("Paper of card, curve and report"), papers, string(p.Paper()), func(value string) {
		p.SetString(KeyPaper, value)
		changed()
	})
}

// Paper is that sheet.
func (p Prefs) Paper() plotting.Paper {
	return plotting.Paper(p.StringWithFallback(KeyPaper, string(plotting.A5)))
}

// Tones reports whether the machine says in tones how a take goes.
func (p Prefs) Tones() bool { return p.BoolWithFallback(KeyTones, true) }

// Click reports whether the guide click is heard.
func (p Prefs) Click() bool { return p.Bool(KeyClick) }

// SetClick has it heard or not.
func (p Prefs) SetClick(on bool) { p.SetBool(KeyClick, on) }

// Output is what tones, click and listening are played on; empty = the system's own.
func (p Prefs) Output() string { return p.String(KeyOutput) }

// Hints reports whether hints at the first loop are wanted.
func (p Prefs) Hints() bool { return p.BoolWithFallback(KeyHints, true) }

// SetHints has them shown or not from now on.
func (p Prefs) SetHints(on bool) { p.SetBool(KeyHints, on) }

// Tolerance is that of new sessions, ms.
func (p Prefs) Tolerance() float64 {
	return p.FloatWithFallback(KeyTolerance, calib.DefaultToleranceMS)
}

// SessionsIn is the folder in which new sessions are made.
func (p Prefs) SessionsIn() string {
	if dir := p.String(KeySessions); dir != "" {
		return dir
	}
	return session.DefaultRoot()
}

// choiceOf is a choice of labelled values, one of them chosen, and what it says then.
func choiceOf(all []labelled, chosen string) (c *kit.Choice, value func() string) {
	c = kit.NewChoice(nil, "", nil)
	for _, one := range all {
		c.Options = append(c.Options, one.Words)
		if one.value == chosen {
			c.Selected = one.Words
		}
	}
	return c, func() string { return all[max(0, c.SelectedIndex())].value }
}

// Ask asks for them; changed shows what was kept.
func (p Prefs) Ask(f *kit.Frame, changed func()) {
	looks, theme := choiceOf(themes(), p.StringWithFallback(KeyTheme, themeSystem))
	text, size := choiceOf(texts(), strconv.Itoa(p.IntWithFallback(KeyText, 100)))
	speaks, tongue := languageChoice(f, p.String(KeyLanguage))
	units := kit.NewChoice(unitNames(), p.Unit().Name, nil)
	tones := kit.NewTick(i18n.L("heard while a take is played"), p.Tones(), nil)
	hints := kit.NewTick(i18n.L("shown with the simulated machine"), p.Hints(), nil)
	tolerance := kit.NewNumber(kit.Digits(p.Tolerance()), 0.5, 100, false)
	folder, choose := f.FolderField(p.SessionsIn())
	folder.Validator = folderNamed
	folder.ActionItem = choose
	f.Form(i18n.L("Preferences"), i18n.L("Keep"), []*widget.FormItem{
		kit.Item(i18n.L("Theme"), "", looks),
		kit.Item(i18n.L("Text size"), "", text),
		kit.Item(i18n.L("Unit of length"), i18n.L("drop, ball and pins, where you enter and read them"), units),
		kit.Item(i18n.L("Language"), i18n.L("from the next start on"), speaks),
		kit.Item(i18n.L("Tones"), i18n.L("Record > Tones and guide click… has more"), tones),
		kit.Item(i18n.L("Hints"), i18n.L("for the first loop"), hints),
		kit.Item(i18n.L("Tolerance, ms"), i18n.L("of new machines: a lag within it counts as together"), tolerance),
		kit.Item(i18n.L("Folder of machines"), i18n.L("for new machines; those that are there stay where they are"), folder),
	}, func() {
		p.SetString(KeyTheme, theme())
		p.setText(size())
		p.SetString(KeyLanguage, tongue())
		p.SetString(KeyUnit, units.Selected)
		p.SetBool(KeyTones, tones.Checked)
		p.SetFloat(KeyTolerance, kit.ValueOf(tolerance))
		p.keepFolder(folder.Text)
		p.SetHints(hints.Checked)
		changed()
	})
	f.Focus(looks)
}

// keepFolder keeps where new sessions live; the usual place is kept as no choice,
// so that it stays usual.
func (p Prefs) keepFolder(dir string) {
	if dir == session.DefaultRoot() {
		dir = ""
	}
	p.SetString(KeySessions, dir)
}

// folderNamed refuses a folder that no session could be made in.
func folderNamed(dir string) error {
	if !filepath.IsAbs(strings.TrimSpace(dir)) {
		return i18n.Errorf("a folder with its whole path")
	}
	return nil
}
