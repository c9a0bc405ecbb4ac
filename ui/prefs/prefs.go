// Package prefs keeps what a person prefers, the same for every machine: theme, text,
// language, units, where machines live. The toolkit keeps it.
package prefs

import (
	"path/filepath"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/plotting"
	"lagwright/ui/choose"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// Prefs are what a person chose for every machine, as the toolkit keeps it for the app.
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
	KeyClick      = "guide.click" // whether the guide click is heard
	KeyOutput     = "output"      // what tones, click and listening are played on; empty = the system's own
	KeyHints      = "hints"       // whether the first loop is hinted at
	KeyRecordings = "recordings"  // the folder the last recording was opened from
	KeyPaper      = "paper"
	KeyLanguage   = "language"  // tag of the one that was chosen; empty = the computer's
	KeyText       = "text"      // percent of the usual size
	KeyUnit       = "unit"      // of drops, balls and circles of pins
	KeyTolerance  = "tolerance" // of new machines, ms
	KeyMachines   = "machines"  // the folder of new machines; empty = the usual one

	themeSystem = "system"
	themeLight  = "light"
	themeDark   = "dark"
)

// labelled is a value of a preference and how it is called.
type labelled struct{ value, Words string }

func themes() []labelled {
	return []labelled{{themeSystem, i18n.L("As the system")}, {themeLight, i18n.L("Light")}, {themeDark, i18n.L("Dark")}}
}

// LeastText and MostText are the ends of textSizes, in percent.
const LeastText, MostText = 100, 200

// textSizes are those to choose from, in percent of the usual one.
var textSizes = []string{"100", "125", "150", "200"}

// named labels values that are called what they are, with a word behind.
func named(behind string, values ...string) (all []labelled) {
	for _, v := range values {
		all = append(all, labelled{v, v + behind})
	}
	return all
}

// ApplyTheme shows the app in the theme and with the text that are preferred, as
// far as its size lies between two, in percent of the usual one.
func (p Prefs) ApplyTheme(least, most int) {
	th := look.New()
	switch p.String(KeyTheme) {
	case themeLight:
		th = look.Forced(theme.VariantLight)
	case themeDark:
		th = look.Forced(theme.VariantDark)
	}
	percent, _ := strconv.Atoi(p.String(KeyText)) // 0 where none was chosen
	p.settings.SetTheme(look.Larger(th, float32(min(max(percent, least), most))/100))
}

// Paper is the sheet that cards, curves and reports are saved for: A5 where none was chosen,
// or one of another version that this one has not got.
func (p Prefs) Paper() plotting.Paper {
	if paper, err := plotting.PaperNamed(p.String(KeyPaper)); err == nil {
		return paper
	}
	return plotting.A5
}

// Tones reports whether the machine says in tones how a take goes.
func (p Prefs) Tones() bool { return p.BoolWithFallback(KeyTones, true) }

// Hints reports whether hints at the first loop are wanted.
func (p Prefs) Hints() bool { return p.BoolWithFallback(KeyHints, true) }

// Tolerance is that of new machines, ms.
func (p Prefs) Tolerance() float64 {
	return p.FloatWithFallback(KeyTolerance, calib.DefaultToleranceMS)
}

// MachinesIn is the folder in which new machines are made.
func (p Prefs) MachinesIn() string {
	if dir := p.String(KeyMachines); dir != "" {
		return dir
	}
	return machine.DefaultRoot()
}

// choice is a choice of a preference's values, the first of which is the usual one, and
// what keeps the one that is chosen.
func (p Prefs) choice(key string, all []labelled) (c *kit.Choice, keep func()) {
	c = kit.NewChoice(nil, all[0].Words, nil)
	for _, one := range all {
		c.Options = append(c.Options, one.Words)
		if one.value == p.String(key) {
			c.Selected = one.Words
		}
	}
	return c, func() { p.SetString(key, all[max(0, c.SelectedIndex())].value) }
}

// Ask asks for them; changed shows what was kept.
func (p Prefs) Ask(f *kit.Frame, changed func()) {
	looks, keepTheme := p.choice(KeyTheme, themes())
	text, keepText := p.choice(KeyText, named(" %", textSizes...))
	speaks, keepLanguage := p.languageChoice(f)
	units, keepUnit := p.choice(KeyUnit, named("", units[0].Name, units[1].Name))
	paper, keepPaper := p.choice(KeyPaper, named("", string(plotting.A5), string(plotting.A4), string(plotting.Letter)))
	tones := kit.NewTick(i18n.L("heard while a take is played"), p.Tones(), nil)
	hints := kit.NewTick(i18n.L("shown with the simulated machine"), p.Hints(), nil)
	tolerance := kit.NewNumber(kit.Digits(p.Tolerance()), 0.5, 100, false)
	folder, find := choose.FolderField(f, p.MachinesIn())
	folder.Validator = folderNamed
	folder.ActionItem = find
	f.Form(i18n.L("Preferences"), i18n.L("Keep"), []*widget.FormItem{
		kit.Item(i18n.L("Theme"), "", looks),
		kit.Item(i18n.L("Text size"), "", text),
		kit.Item(i18n.L("Unit of length"), i18n.L("drop, ball and pins, where you enter and read them"), units),
		kit.Item(i18n.L("Paper"), i18n.L("of card, curve and report"), paper),
		kit.Item(i18n.L("Language"), i18n.L("from the next start on"), speaks),
		kit.Item(i18n.L("Tones"), i18n.L("Record > Tones and guide click… has more"), tones),
		kit.Item(i18n.L("Hints"), i18n.L("for the first loop"), hints),
		kit.Item(i18n.L("Tolerance, ms"), i18n.L("of new machines: a lag within it counts as together"), tolerance),
		kit.Item(i18n.L("Folder for machines"), i18n.L("for new machines; those that are there stay where they are"), folder),
	}, func() {
		for _, keep := range []func(){keepTheme, keepText, keepUnit, keepPaper, keepLanguage} {
			keep()
		}
		p.SetBool(KeyTones, tones.Checked)
		p.SetFloat(KeyTolerance, kit.ValueOf(tolerance))
		if p.SetString(KeyMachines, folder.Text); folder.Text == machine.DefaultRoot() {
			p.SetString(KeyMachines, "") // no choice, so that it stays usual
		}
		p.SetBool(KeyHints, hints.Checked)
		changed()
	})
	f.Focus(looks)
}

// folderNamed refuses a folder that no machine could be made in.
func folderNamed(dir string) error {
	if !filepath.IsAbs(strings.TrimSpace(dir)) {
		return i18n.Errorf("a folder with its whole path")
	}
	return nil
}
