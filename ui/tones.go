package ui

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/playback"
)

// Names of the preferences on sound.
const (
	prefTones  = "tones"
	prefClick  = "guide.click"
	prefOutput = "output"
)

// askTones shows what the machine says in tones and teaches each, and asks for the
// guide click.
func (w *Window) askTones() {
	if !w.free() || w.live != nil {
		return
	}
	prefs := w.app.Preferences()
	names := outputNames(w.sound)
	usual := i18n.L("the system's own")
	output := newChoice(slices.Insert(slices.Clone(names), 0, usual), func(name string) {
		if name == usual {
			name = ""
		}
		prefs.SetString(prefOutput, name)
		w.hush()
		w.unplug()
	})
	output.Selected = usual
	if slices.Contains(names, prefs.String(prefOutput)) {
		output.Selected = prefs.String(prefOutput)
	}
	tones := newTick(i18n.L("Tones during a take"), func(on bool) { prefs.SetBool(prefTones, on) })
	tones.Checked = prefs.BoolWithFallback(prefTones, true)
	click := newTick(i18n.L("Guide click at the target's tempo, quiet at first"), func(on bool) { prefs.SetBool(prefClick, on) })
	click.Checked = prefs.Bool(prefClick)
	advice := widget.NewLabel(i18n.L("Use headphones for the click: what the microphones hear of it is taken for hits, and warned of. Playback starts quiet; turn it up with care."))
	advice.Wrapping = fyne.TextWrapWord
	said := widget.NewLabel("")
	lessons := container.NewVBox()
	for _, l := range playback.Teach() {
		what := widget.NewLabel(l.What)
		what.Wrapping = fyne.TextWrapWord
		hear := newButtonWithIcon(i18n.L("Hear it"), theme.VolumeUpIcon(), func() {
			s, err := w.speaker()
			if err != nil {
				said.SetText(asSentence(err.Error()))
				return
			}
			s.Ring(l.Tone)
		})
		lessons.Add(container.NewBorder(nil, nil, hear, nil, what))
	}
	top := container.NewVBox(container.NewBorder(nil, nil, widget.NewLabel(i18n.L("Play on")), nil, output), tones, click, advice, said, widget.NewSeparator())
	d := w.closable(i18n.L("Tones and guide click"), container.NewBorder(top, nil, nil, nil, container.NewVScroll(lessons)))
	d.Resize(w.room(680, 520))
	d.Show()
}
