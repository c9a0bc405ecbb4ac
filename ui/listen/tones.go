package listen

import (
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/playback"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
)

// AskTones shows what the machine says in tones and teaches each, and asks for the
// guide click.
func (b *Bar) AskTones() {
	if !b.d.Free() {
		return
	}
	kept := b.d.Prefs
	usual := i18n.L("system default")
	output := kit.NewChoice([]string{usual}, usual, func(name string) {
		if name == usual {
			name = ""
		}
		kept.SetString(prefs.KeyOutput, name)
		b.Hush()
		b.Unplug()
	})
	outputs, _ := b.d.Sound.Outputs() // none where the computer does not say
	for _, o := range outputs {
		if output.Options = append(output.Options, o.Name); o.Name == kept.String(prefs.KeyOutput) {
			output.Selected = o.Name
		}
	}
	tones := kit.NewTick(i18n.L("Tones during a take"), kept.Tones(), func(on bool) { kept.SetBool(prefs.KeyTones, on) })
	click := kit.NewTick(i18n.L("Guide click at the target's tempo, quiet at first"), kept.Bool(prefs.KeyClick), func(on bool) { kept.SetBool(prefs.KeyClick, on); b.d.Refresh() })
	advice := kit.Wrapped(i18n.L("Use headphones for the click: what the microphones hear of it counts as hits; a warning says so. Playback starts quiet; turn it up with care."))
	said := widget.NewLabel("")
	lessons := container.NewVBox()
	for _, l := range playback.Teach() {
		hear := kit.NewButtonWithIcon(i18n.L("Listen"), theme.VolumeUpIcon(), func() {
			s, err := b.Speaker()
			if err != nil {
				said.SetText(kit.AsSentence(err.Error()))
				return
			}
			s.Ring(l.Tone)
		})
		lessons.Add(container.NewBorder(nil, nil, hear, nil, kit.Wrapped(l.What)))
	}
	top := container.NewVBox(container.NewBorder(nil, nil, widget.NewLabel(i18n.L("Output")), nil, output), tones, click, advice, said, widget.NewSeparator())
	b.d.Closable(i18n.L("Tones and guide click"), container.NewBorder(top, nil, nil, nil, container.NewVScroll(lessons)), 680, 520)
}
