package tune

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/prefs"
	"lagwright/ui/sign"
)

// hint is one step of the first loop, said until it is done.
type hint struct {
	words string
	due   func(s machine.Machine, at *loop.View) bool
}

// Hints lead through the first loop by doing. The first that is due is shown; press is on
// the button for a move.
func Hints(press string) []hint {
	return []hint{
		{i18n.L("First, press “Play a take”, or Ctrl+P: the simulated machine turns its crank and drops its shot."),
			func(m machine.Machine, _ *loop.View) bool { return len(m.Takes) == 0 }},
		{i18n.F("Read: the large line says how far to turn and which way; the dial shows where to. At a real machine, stop the crank, wait for rest, then turn the plate; here, press “%s”.", press),
			func(m machine.Machine, at *loop.View) bool { return at.Stage == loop.AwaitMove && tempos(m) < 2 }},
		{i18n.L("Tight: that setting is kept, and “Machine > Save the card…” saves it as a page. Press “Next tempo…” and type another, say 120."),
			func(m machine.Machine, at *loop.View) bool { return at.Stage == loop.Tight && tempos(m) < 2 }},
		{i18n.L("No take has heard this voice yet: press “Play a take”, and it will say where to turn for it."),
			func(m machine.Machine, at *loop.View) bool {
				_, _, heard := at.Lag(m.Target.Voice, at.Setting, calib.PeriodMS(m.Target.TempoBPM))
				return at.Stage == loop.AwaitTake && !heard
			}},
		{i18n.L("The plate is turned. Play again, and see whether both strike together now."),
			func(m machine.Machine, at *loop.View) bool { return at.Stage <= loop.Foretold && turned(m) }},
		{i18n.L("The first tempo already tells where the plate goes for this one. If it says so, stop the crank, wait for rest, then turn the plate. Play to check."),
			func(m machine.Machine, at *loop.View) bool { return at.Stage != loop.Tight && tempos(m) == 2 }},
		{i18n.L("That is the whole loop. “Machine > Save the card…” makes the page that hangs on the machine; “Set list…” keeps your songs."),
			func(machine.Machine, *loop.View) bool { return true }},
	}
}

// hintOf returns what to say at this point of the first loop, with what is on the button for a
// move. Who plays a set list has the
// list's own sentence to follow.
func hintOf(m machine.Machine, at *loop.View, press string) string {
	if len(m.SetList()) > 0 && len(m.Takes) > 0 {
		return ""
	}
	for _, h := range Hints(press) {
		if h.due(m, at) {
			return h.words
		}
	}
	return ""
}

// tempos counts those that are aimed at or have a take.
func tempos(m machine.Machine) int {
	seen := map[float64]bool{m.Target.TempoBPM: true}
	for _, t := range m.Takes {
		seen[t.Target.TempoBPM] = true
	}
	return len(seen)
}

// turned reports whether the plate was turned since the last take.
func turned(m machine.Machine) bool {
	n := len(m.Takes)
	return n > 0 && m.Takes[n-1].Moved != nil && m.Takes[n-1].Moved.Steps != 0
}

// hintBar is the quiet line with the hint.
type hintBar struct {
	Root *fyne.Container
	Said *sign.Sign
}

func newHintBar(want func(bool)) *hintBar {
	b := &hintBar{Said: sign.New(16, 13, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300)}
	away := kit.NewButton(i18n.L("No more hints"), func() { want(false) }).Quiet()
	b.Root = kit.Aside(container.NewBorder(nil, nil, widget.NewIcon(theme.InfoIcon()), nil, b.Said), away)
	b.Root.Hide()
	return b
}

// show brings the line up to a machine; it is there with the simulated machine only.
func (b *hintBar) show(m machine.Machine, at *loop.View, press string, wanted bool) {
	said := hintOf(m, at, press)
	b.Said.Set(said, look.Voice)
	kit.Show(b.Root, m.Build.PracticeSeed != 0 && wanted && said != "")
}

// HintsDone ends the hints with a machine in which all steps of the loop were made.
func (p *Pane) HintsDone() {
	m := p.d.Machine()
	all := Hints("")
	if last := all[len(all)-1]; m.Build.PracticeSeed != 0 && hintOf(m, p.d.View(), "") == last.words {
		p.d.Prefs.SetBool(prefs.KeyHints, false)
	}
}

// SetHints has hints shown or not from now on.
func (p *Pane) SetHints(on bool) {
	p.d.Prefs.SetBool(prefs.KeyHints, on)
	p.d.Refresh()
}
