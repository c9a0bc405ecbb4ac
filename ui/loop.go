package ui

import (
	"fmt"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/session"
	"lagwright/ui/dial"
	"lagwright/ui/look"
)

// safety is the caution before every move of the plate (ISO 14120, ISO 13857;
// lockout after 29 CFR 1910.147 as good practice).
const safety = "Stop the crank and wait until everything is at rest. Only then reach in."

// loopPane says where the loop stands and what to do now, large enough to be
// read from the crank.
type loopPane struct {
	root    *fyne.Container
	where   *sign
	do, why *sign
	lag     *sign
	side    *sign
	caution *fyne.Container
	dial    *dial.Dial

	playTake, openTake, turned, other, next, again *widget.Button
	all                                            *widget.Check // microphones on all voices of the simulated machine
}

func newLoopPane(w *Window) *loopPane {
	p := &loopPane{
		where: newSign(16, 15, 1, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		do:    newSign(44, 22, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300),
		why:   newSign(17, 13, 3, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		lag:   newSign(104, 30, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignCenter, 180),
		side:  newSign(24, 22, 1, fyne.TextStyle{}, fyne.TextAlignCenter, 180),
		dial:  dial.New(),
	}
	words := newSign(15, 12, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 200)
	words.set(safety, look.Warn)
	p.caution = container.NewBorder(nil, nil, widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon())), nil, words)

	button := func(label string, icon fyne.Resource, do func()) *widget.Button {
		return widget.NewButtonWithIcon(label, icon, do)
	}
	p.playTake = button("Play a take", theme.MediaPlayIcon(), w.playTake)
	p.openTake = button("Open a recording…", theme.FolderOpenIcon(), w.chooseRecording)
	p.turned = button("Turned", theme.ConfirmIcon(), w.turnedAsAdvised)
	p.other = button("Turned otherwise…", theme.DocumentCreateIcon(), w.askMove)
	p.next = button("Next tempo…", theme.NavigateNextIcon(), w.askTarget)
	p.again = button("Take it again", theme.MediaReplayIcon(), w.playTake)
	p.all = widget.NewCheck("all voices at once", w.playAll)
	buttons := container.NewHBox(p.turned, p.playTake, p.openTake, p.other, p.next, p.again, p.all)

	left := container.NewBorder(p.where, container.NewVBox(p.why, p.caution, buttons), nil, nil, p.do)
	middle := container.NewBorder(nil, container.NewVBox(p.side, gap(24)), nil, nil, p.lag)
	right := container.NewGridWrap(fyne.NewSize(218, 218), p.dial)
	p.root = container.NewPadded(container.NewBorder(nil, widget.NewSeparator(), nil,
		container.NewHBox(container.NewGridWrap(fyne.NewSize(250, 218), middle), right), left))
	return p
}

// gap is empty room of a height.
func gap(height float32) fyne.CanvasObject {
	r := canvas.NewRectangle(color.Transparent)
	r.SetMinSize(fyne.NewSize(1, height))
	return r
}

// show brings the pane up to the session.
func (p *loopPane) show(s session.Session, at bench.Standing, all bool) {
	p.where.set(where(s, at), theme.ColorNamePlaceHolder)
	p.do.set(at.Do, theme.ColorNameForeground)
	if at.Stage == bench.Tight {
		p.do.set(at.Do, look.Tight)
	}
	p.why.set(at.Why, theme.ColorNameForeground)
	p.showLag(at)
	p.dial.SetPlate(s.Machine.Plate.NotchesPerTurn)
	p.dial.Set(at.Setting, at.Setting+at.Steps, at.Stage == bench.AwaitMove)
	p.all.Checked = all
	p.all.Hidden = len(s.Machine.Voices) < 2 || s.Machine.PracticeSeed == 0 || at.Stage == bench.AwaitMove
	p.all.Refresh()
	p.showButtons(at, s.Machine.PracticeSeed != 0)
}

// where says in one line what is being tuned.
func where(s session.Session, at bench.Standing) string {
	words := fmt.Sprintf("%s  ·  %s  ·  %.4g BPM", s.Machine.Name, at.Target.Voice, at.Target.TempoBPM)
	if at.Target.Song != "" {
		words += "  ·  " + at.Target.Song
	}
	if at.Last != nil {
		words += fmt.Sprintf("  ·  take %d", at.Last.ID)
	}
	return words
}

// showLag writes the lag of the take that the headline speaks of, with its
// interval; where there is no reading it says so rather than show a number.
func (p *loopPane) showLag(at bench.Standing) {
	if at.Last == nil || at.Last.Reading.Used() < calib.MinPairs {
		p.lag.set("", theme.ColorNamePlaceHolder)
		p.side.set("no reading here yet", theme.ColorNamePlaceHolder)
		return
	}
	lag := at.Last.Advice.LagMS
	ink, word := look.Late, "ms late"
	if lag < 0 {
		ink, word = look.Early, "ms early"
	}
	if at.Stage == bench.Tight {
		ink = look.Tight // the headline says so in words
	}
	p.lag.set(fmt.Sprintf("%.1f", math.Abs(lag)), ink)
	p.side.set(fmt.Sprintf("%s ± %.1f", word, at.Last.Advice.Half), ink)
}

// showButtons offers what makes sense at this stage, the likeliest first and
// prominent.
func (p *loopPane) showButtons(at bench.Standing, practice bool) {
	moving, waiting, tight := at.Stage == bench.AwaitMove, at.Stage == bench.AwaitTake, at.Stage == bench.Tight
	p.turned.SetText("Turned " + look.Move(at.Steps))
	shown := map[*widget.Button]bool{
		p.turned:   moving,
		p.other:    moving,
		p.playTake: waiting && practice,
		p.openTake: waiting || !practice,
		p.next:     tight,
		p.again:    tight && practice,
	}
	main := map[*widget.Button]bool{p.turned: true, p.playTake: true, p.next: true, p.openTake: !practice && waiting}
	for b, on := range shown {
		b.Importance = widget.MediumImportance
		if main[b] {
			b.Importance = widget.HighImportance
		}
		b.Hidden = !on
		b.Refresh()
	}
	p.caution.Hidden = !moving
	p.root.Refresh()
}

// enable lets the buttons be pressed, or not while a job runs.
func (p *loopPane) enable(on bool) {
	for _, b := range []*widget.Button{p.playTake, p.openTake, p.turned, p.other, p.next, p.again} {
		if on {
			b.Enable()
		} else {
			b.Disable()
		}
	}
}
