package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/plan"
	"lagwright/ui/look"
)

// safety is the caution before every move of the plate (ISO 14120, ISO 13857;
// lockout after 29 CFR 1910.147 as good practice).
const safety = "Stop the crank and wait until everything is at rest. Only then reach in."

// found is the likeliest mistake that the takes show, with the way to all of them
// and to what can be done.
type found struct {
	d      *Desk
	plate  func() // asks how the plate is built
	root   *fyne.Container
	likely *sign
	first  loop.Finding // the likeliest
	yes    *button      // agrees with it
	all    *button
}

func newFound(d *Desk, plate func()) *found {
	f := &found{d: d, plate: plate, likely: newSign(17, 13, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300)}
	f.all = newButton(i18n.L("What the takes show…"), f.list)
	icon := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	f.yes = newButton("", func() {
		if d.MayChange() {
			f.answer(f.first)
		}
	})
	f.root = container.NewBorder(nil, nil, icon, container.NewHBox(f.yes, f.all), f.likely)
	f.root.Hide()
	return f
}

// show brings it up to what was found, the likeliest first.
func (f *found) show(known []loop.Finding) {
	show(f.root, len(known) > 0)
	if len(known) > 0 {
		f.first = known[0]
		f.likely.set(foundWords(f.first), look.Warn)
		f.yes.SetText(answerWords(f.first))
		show(f.yes, f.yes.Text != "")
	}
}

// list shows all that the takes show, each with what the builder can do.
func (p *found) list() {
	if !p.d.Ready() {
		return
	}
	known := p.d.View().Findings
	if len(known) == 0 {
		return
	}
	p.d.Commit()
	rows := container.NewVBox(wrapped(i18n.L("Nothing is changed until you agree, and Undo takes it back. The likeliest first:")))
	d, _ := p.d.Closable(i18n.L("What the takes show"), container.NewVScroll(rows))
	for _, f := range known {
		rows.Add(widget.NewSeparator())
		rows.Add(wrapped(foundWords(f)))
		if words := answerWords(f); words != "" {
			rows.Add(container.NewHBox(newButton(words, func() {
				d.Hide()
				p.answer(f)
			})))
		}
	}
	d.Resize(p.d.Room(680, min(460, 180+120*float32(len(known)))))
	d.Show()
}

// answerWords says what the builder can do about a finding in the session; nothing
// where that is all done at the machine.
func answerWords(f loop.Finding) string {
	if f.Kind == plan.PlateWrong {
		return i18n.L("The machine…")
	}
	return inFont(f.Yes)
}

// answer does that.
func (p *found) answer(f loop.Finding) {
	if f.Kind == plan.PlateWrong {
		p.plate()
		return
	}
	p.d.Commit()
	p.d.Do(Undoable(agreedWords(f)), p.d.Bench.Agree(f))
}

// agreedWords says what was changed.
func agreedWords(f loop.Finding) string {
	switch f.Kind {
	case plan.Backlash:
		return i18n.L("Before each move you are reminded to end it ahead.")
	case plan.Bad, plan.WrongVoice, plan.Crossed:
		return i18n.F("Take %d is left out.", f.Take)
	case plan.Flipped:
		return i18n.L("Every move so far now counts the other way: ahead is what makes the voice earlier.")
	}
	return i18n.F("The move before take %d is corrected, and the settings from there on with it.", f.Take)
}

// foundWords says a finding: what, how likely and what to do, with the caution
// where that is work inside the machine.
func foundWords(f loop.Finding) string {
	odds := f.Odds
	if f.Voice != "" {
		odds = f.Voice + ", " + odds
	}
	words := fmt.Sprintf("%s (%s): %s %s", i18n.L("Looks wrong"), odds, f.Words, f.Do)
	if f.Reach {
		words += " " + i18n.L(safety)
	}
	return inFont(words)
}
