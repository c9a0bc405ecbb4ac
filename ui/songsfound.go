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

// found is the likeliest mistake that the takes show, with the way to all of them
// and to what can be done.
type found struct {
	root   *fyne.Container
	likely *sign
	first  loop.Finding
	yes    *button // agrees with it
	all    *button
}

func newFound(w *Window) *found {
	f := &found{likely: newSign(17, 13, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300)}
	f.all = newButton(i18n.L("What the takes show…"), w.listFound)
	icon := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	f.yes = newButton("", func() {
		if w.mayChange() {
			w.answer(f.first)
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

// listFound shows all that the takes show, each with what the builder can do.
func (w *Window) listFound() {
	if !w.ready() {
		return
	}
	known := w.view().Findings
	if len(known) == 0 {
		return
	}
	w.songs.commit()
	rows := container.NewVBox(wrapped(i18n.L("Nothing is changed until you agree, and Undo takes it back. The likeliest first:")))
	d := w.closable(i18n.L("What the takes show"), container.NewVScroll(rows))
	for _, f := range known {
		rows.Add(widget.NewSeparator())
		rows.Add(wrapped(foundWords(f)))
		if words := answerWords(f); words != "" {
			rows.Add(container.NewHBox(newButton(words, func() {
				d.Hide()
				w.answer(f)
			})))
		}
	}
	d.Resize(w.room(680, min(460, 180+120*float32(len(known)))))
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
func (w *Window) answer(f loop.Finding) {
	if f.Kind == plan.PlateWrong {
		w.askPlate()
		return
	}
	w.songs.commit()
	w.changed(undoable(agreedWords(f)), w.bench.Agree(f))
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

func wrapped(text string) *widget.Label {
	l := widget.NewLabel(text)
	l.Wrapping = fyne.TextWrapWord
	return l
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
