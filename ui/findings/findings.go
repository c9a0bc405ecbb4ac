// Package findings says what the takes show that is likely a mistake, and lets the
// builder agree.
package findings

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/plan"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/sign"
)

// Safety is the caution before every move of the plate (ISO 14120, ISO 13857;
// lockout after 29 CFR 1910.147 as good practice).
const Safety = "Stop the crank and wait until everything is at rest. Only then reach in."

// Bar is the likeliest mistake that the takes show, with the way to all of them
// and to what can be done.
type Bar struct {
	d      *desk.Desk
	build  func() // asks how plate and machine are built
	Root   *fyne.Container
	Likely *sign.Sign
	first  loop.Finding // the likeliest
	Yes    *kit.Button  // agrees with it
	No     *kit.Button  // says that it did not happen
	All    *kit.Button
}

// New returns a bar that says nothing yet; build asks how plate and machine are built.
func New(d *desk.Desk, build func()) *Bar {
	f := &Bar{d: d, build: build, Likely: sign.New(17, 13, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300)}
	f.All = kit.NewButton(i18n.L("Suspected mistakes…"), f.List)
	icon := widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon()))
	answer := func(do func(loop.Finding)) *kit.Button {
		return kit.NewButton("", func() {
			if d.MayChange() {
				do(f.first)
			}
		})
	}
	f.Yes, f.No = answer(f.agree), answer(f.deny)
	f.Root = kit.Aside(container.NewBorder(nil, nil, icon, nil, f.Likely), f.Yes, f.No, f.All)
	f.Root.Hide()
	return f
}

// Show brings it up to what was found, the likeliest first. What the top says it does not
// say again.
func (f *Bar) Show(known []loop.Finding) {
	kit.Show(f.Root, len(known) > 0)
	if len(known) > 0 {
		f.first = known[0]
		words := foundWords(f.first)
		if f.first.Kind == plan.Crossed && f.d.Says(f.first.Take, calib.WarnSwapped) {
			words = oddsWords(f.first)
		}
		f.Likely.Set(words, look.Warn)
		for b, words := range map[*kit.Button]string{f.Yes: answerWords(f.first), f.No: f.first.No} {
			b.SetText(words)
			kit.Show(b, words != "")
		}
		kit.Show(f.All, len(known)+len(f.d.View().Answered) > 1)
	}
}

// List shows all that the takes show, each with what the builder can do, and what he has answered.
func (p *Bar) List() {
	if !p.d.Ready() {
		return
	}
	v := p.d.View()
	known := slices.Concat(v.Findings, v.Answered)
	if len(known) == 0 {
		return
	}
	p.d.Commit()
	rows := container.NewVBox(kit.Wrapped(i18n.L("Nothing you entered is changed until you agree. Until then settings go by what is likeliest by all takes, and none is sure. The likeliest first:")))
	var d *kit.Dialog
	for _, f := range known {
		rows.Add(widget.NewSeparator())
		rows.Add(kit.Wrapped(foundWords(f)))
		answers := kit.NewFlow()
		answer := func(words string, do func(loop.Finding)) {
			if words != "" {
				answers.Add(kit.NewButton(words, func() { d.Hide(); do(f) }))
			}
		}
		answer(answerWords(f), p.agree)
		answer(f.No, p.deny)
		rows.Add(answers)
	}
	d = p.d.Closable(i18n.L("Suspected mistakes"), container.NewVScroll(rows), 680, 0)
}

// answerWords says what the builder can do about a finding in the machine; nothing
// where that is all done at the machine.
func answerWords(f loop.Finding) string {
	if f.Kind == plan.PlateWrong {
		return i18n.L("Plate, voices and build…")
	}
	return kit.InFont(f.Yes)
}

// agree does that.
func (p *Bar) agree(f loop.Finding) {
	if f.Kind == plan.PlateWrong {
		p.build()
		return
	}
	p.d.Commit()
	p.d.Do(desk.Undoable(agreedWords(f)), p.d.Bench.Agree(f))
}

// deny keeps that it did not happen.
func (p *Bar) deny(f loop.Finding) {
	p.d.Commit()
	said := i18n.L("What you entered stays. It is asked again only where takes show it far more clearly.")
	if f.Kind == plan.Crossed {
		said = i18n.F("Take %d counts, with its microphones as they were.", f.Take)
	}
	p.d.Do(desk.Undoable(said), p.d.Bench.Deny(f))
}

// agreedWords says what was changed.
func agreedWords(f loop.Finding) string {
	switch f.Kind {
	case plan.Fine:
		return i18n.F("The move after take %d is asked about again where takes show another.", f.Take)
	case plan.Backlash:
		return i18n.L("Before each move you are reminded to end it ahead.")
	case plan.Bad, plan.WrongVoice, plan.Crossed:
		switch {
		case f.Swap:
			return i18n.F("Take %d counts, with its microphones swapped back.", f.Take)
		case f.As != "":
			return i18n.F("Take %d now counts for the %s.", f.Take, f.As)
		}
		return i18n.F("Take %d is left out.", f.Take)
	case plan.Flipped:
		return i18n.L("Every move so far now has the opposite sign: ahead is what makes the voice earlier.")
	}
	return i18n.F("The move before take %d is corrected, and the settings from there on with it.", f.Take)
}

// foundWords says a finding: what, how likely and what to do.
func foundWords(f loop.Finding) string {
	if f.Kind == plan.Fine {
		return f.Words
	}
	return kit.InFont(fmt.Sprintf("%s: %s %s", oddsWords(f), f.Words, f.Do))
}

// oddsWords says how likely it is.
func oddsWords(f loop.Finding) string {
	odds := f.Odds
	if f.Voice != "" {
		odds = f.Voice + ", " + odds
	}
	return fmt.Sprintf("%s (%s)", i18n.Either(f.No != "" && f.Chance < 0.5, "A question", "Looks wrong"), odds)
}
