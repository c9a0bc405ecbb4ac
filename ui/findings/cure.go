package findings

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/prefs"
	"lagwright/ui/sign"
)

// Cure is the button, beside a song that no setting suits, that says what to change
// on the machine for it.
type Cure struct {
	d       *desk.Desk
	Root    *kit.Button
	machine func() // asks how it is built
	Words   string // a paragraph for each voice
}

// NewCure returns it hidden; machine asks how the machine is built.
func NewCure(d *desk.Desk, machine func()) *Cure {
	c := &Cure{d: d, machine: machine}
	c.Root = kit.NewButtonWithIcon(i18n.L("How to bring the voices together…"), theme.SettingsIcon(), c.Open)
	c.Root.Hide()
	return c
}

// Show brings it up to the voices of a song; it hides where none has to change.
func (c *Cure) Show(parts []loop.Residual) {
	c.Words = cureWords(parts, c.d.Prefs.Unit())
	kit.Show(c.Root, c.Words != "")
}

// cureWords says what to change, a paragraph for each voice.
func cureWords(parts []loop.Residual, u prefs.Unit) string {
	var lines []string
	for _, r := range parts {
		if r.Cure() != "" {
			lines = append(lines, u.Words(kit.InFont(r.Cure())))
		}
	}
	if len(lines) > 0 {
		lines = append(lines, i18n.L("Or play the song with fewer voices: in the set list, tick under “Voices…” those that strike together."))
	}
	return strings.Join(lines, "\n\n")
}

// Open shows what to change on the machine, and where to say how it is built.
func (c *Cure) Open() {
	if !c.d.Ready() || c.Words == "" {
		return
	}
	text := kit.Wrapped(c.Words)
	caution := sign.New(16, 12, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300)
	caution.Set(i18n.L(Safety)+" "+i18n.L("Wear eye and ear protection. Guards, local codes and licensed practice come first."), look.Warn)
	icon := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	body := container.NewBorder(nil, container.NewBorder(nil, nil, icon, nil, caution), nil, nil, container.NewVScroll(text))
	var d *kit.Dialog
	machine := kit.NewButton(i18n.L("Plate, voices and build…"), func() { d.Hide(); c.machine() })
	done := kit.NewButton(i18n.L("Close"), nil)
	d = c.d.Dialog(i18n.L("How to bring the voices together"), body, 760, 400, done, machine)
	c.d.Focus(done)
}
