package ui

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/ui/dial"
	"lagwright/ui/look"
)

// firstSafety is what is asked to be acknowledged before the first move of a session.
const firstSafety = "Before you move the plate, or work inside: stop the crank, wait until everything is at rest, only then reach in. " +
	"Guards (ISO 14120, ISO 13857) and lockout (29 CFR 1910.147) are good practice; local codes and licensed practice come first."

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
	whose   *sign // the voice that the lag is of, where the machine has several
	caution *fyne.Container
	safe    *sign  // its words
	found   *found // what the takes show, where the loop does not say so itself
	dial    *dial.Dial

	readOnly bool // a standing mark says so

	understood *button // acknowledges the caution; before that the move cannot be told
	hint       *hintBar

	playTake, record, openTake, turned, other, next, again *button
	stopLive                                               *button
	all                                                    *tick // microphones on all voices of the simulated machine
}

func newLoopPane(w *Window) *loopPane {
	p := &loopPane{
		where: newSign(16, 15, 1, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		do:    newSign(44, 22, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300),
		why:   newSign(17, 13, 3, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		lag:   newSign(104, 30, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignCenter, 180),
		side:  newSign(24, 22, 1, fyne.TextStyle{}, fyne.TextAlignCenter, 180),
		whose: newSign(22, 13, 1, fyne.TextStyle{}, fyne.TextAlignCenter, 180),
		dial:  dial.New(),
		safe:  newSign(15, 13, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 200),
		found: newFound(w),
	}
	p.understood = newButtonWithIcon(i18n.L("I will"), theme.ConfirmIcon(), w.acknowledge)
	p.understood.Importance = widget.HighImportance
	p.hint = newHintBar(w)
	p.caution = container.NewBorder(nil, nil, widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon())), nil, p.safe)

	p.playTake = newButtonWithIcon(i18n.L("Play a take"), theme.MediaPlayIcon(), w.playTake)
	p.record = newButtonWithIcon(i18n.L("Record a take"), theme.MediaRecordIcon(), w.recordTake)
	p.stopLive = newButtonWithIcon(i18n.L("Stop (space)"), theme.MediaStopIcon(), w.press)
	p.stopLive.Importance = widget.HighImportance
	p.openTake = newButtonWithIcon(i18n.L("Open a recording…"), theme.FolderOpenIcon(), w.chooseRecording)
	p.turned = newButtonWithIcon(i18n.L("Turned"), theme.ConfirmIcon(), w.turnedAsAdvised)
	p.other = newButtonWithIcon(i18n.L("Turned otherwise…"), theme.DocumentCreateIcon(), w.askMove)
	p.next = newButtonWithIcon(i18n.L("Next tempo…"), theme.NavigateNextIcon(), w.askTarget)
	p.again = newButtonWithIcon(i18n.L("Take it again"), theme.MediaReplayIcon(), w.playTake)
	p.all = newTick(i18n.L("all voices at once"), w.playAll)
	buttons := newFlow(p.understood, p.stopLive, p.turned, p.playTake, p.record, p.openTake, p.other, p.next, p.again, p.all)

	left := container.NewBorder(p.where, container.NewVBox(p.why, p.caution, buttons), nil, nil, p.do)
	middle := container.NewBorder(nil, container.NewVBox(p.side, container.NewStack(gap(28), p.whose)), nil, nil, p.lag)
	p.root = container.NewPadded(border(nil, container.NewVBox(p.found.root, p.hint.root, widget.NewSeparator()), nil,
		container.New(lagAndDial{}, middle, p.dial), left))
	return p
}

// lagAndDial lays the lag out beside the dial; above it where text is large, to
// leave the width to what is to be done.
type lagAndDial struct{}

const (
	lagWidth = 250
	dialSize = 218
)

// sizes returns those of the lag and of the dial. They grow less than the text
// does, which has room to spare in them.
func (lagAndDial) sizes() (lag, dial fyne.Size, above bool) {
	grow := (1 + look.Times(theme.Current())) / 2
	return fyne.NewSize(lagWidth*grow, dialSize*grow*0.8), fyne.NewSquareSize(dialSize * grow), largeText()
}

func (l lagAndDial) Layout(o []fyne.CanvasObject, size fyne.Size) {
	lag, dial, above := l.sizes()
	if above {
		o[0].Resize(lag)
		o[0].Move(fyne.NewPos(0, 0))
		o[1].Resize(dial)
		o[1].Move(fyne.NewPos((size.Width-dial.Width)/2, lag.Height+theme.Padding()))
		return
	}
	o[0].Resize(fyne.NewSize(lag.Width, size.Height))
	o[0].Move(fyne.NewPos(0, 0))
	o[1].Resize(dial)
	o[1].Move(fyne.NewPos(lag.Width+theme.Padding(), max(0, (size.Height-dial.Height)/2)))
}

func (l lagAndDial) MinSize([]fyne.CanvasObject) fyne.Size {
	lag, dial, above := l.sizes()
	if above {
		return fyne.NewSize(max(lag.Width, dial.Width), lag.Height+theme.Padding()+dial.Height)
	}
	return fyne.NewSize(lag.Width+theme.Padding()+dial.Width, dial.Height)
}

// gap is empty room of a height.
func gap(height float32) fyne.CanvasObject {
	r := canvas.NewRectangle(color.Transparent)
	r.SetMinSize(fyne.NewSize(1, height))
	return r
}

// show brings the pane up to the view and the findings to be shown; all voices of the
// simulated machine have a microphone, or one; cautioned, the caution was acknowledged.
func (p *loopPane) show(at *loop.View, shown []loop.Finding, all, cautioned bool) {
	s := at.Session
	p.where.set(where(s, at), theme.ColorNamePlaceHolder)
	if p.readOnly {
		p.where.set(i18n.L("Read only")+"  ·  "+where(s, at), look.Warn)
	}
	p.do.set(at.Do, theme.ColorNameForeground)
	if at.Stage == loop.Tight {
		p.do.set(at.Do, look.Tight)
	}
	p.why.set(at.Why, theme.ColorNameForeground)
	p.safe.set(i18n.L(safety)+behindWords(s.Machine, at.Steps), look.Warn)
	if !cautioned {
		p.safe.set(i18n.L(firstSafety), look.Warn)
	}
	p.hint.show(s, at, cautioned)
	if p.found.show(shown); len(shown) > 0 {
		p.hint.root.Hide() // one thing at a time
	}
	p.showLag(at)
	p.whose.set("", theme.ColorNameForeground)
	if p.lag.text != "" && len(s.Machine.Voices) > 1 {
		p.whose.set(at.Last.Voice, theme.ColorNameForeground)
	}
	p.dial.SetPlate(s.Machine.Plate.NotchesPerTurn)
	p.dial.Set(at.Setting, at.Setting+at.Steps, at.Stage == loop.AwaitMove)
	p.all.Checked = all
	p.all.Hidden = len(s.Machine.Voices) < 2 || s.Machine.PracticeSeed == 0 || at.Stage == loop.AwaitMove
	p.all.Refresh()
	p.showButtons(at, s.Machine.PracticeSeed != 0, cautioned)
}

// pastSteps is how far a move back goes past its setting, to come to it from
// behind: more than the play of a plate (common practice, no published source).
const pastSteps = 3

// behindWords reminds of the agreement to reach each setting from behind.
func behindWords(m session.Machine, steps int) string {
	switch {
	case !m.Unidirectional:
		return ""
	case steps < 0:
		return " " + i18n.F("As agreed: turn %d back, then %d ahead, to come from behind.", pastSteps-steps, pastSteps)
	}
	return " " + i18n.L("As agreed, end ahead: if you go past, go well back and come again.")
}

// where says in one line what is being tuned.
func where(s session.Session, at *loop.View) string {
	words := i18n.F("%s  ·  %s  ·  %.4g BPM", s.Machine.Name, s.Target.Voice, s.Target.TempoBPM)
	if s.Target.Song != "" {
		words += "  ·  " + s.Target.Song
	}
	if at.Last != nil {
		words += "  ·  " + i18n.F("take %d", at.Last.Take.ID)
	}
	return words
}

// showLag writes the lag of the take that the headline speaks of, with its
// interval; where there is no reading it says so rather than show a number.
func (p *loopPane) showLag(at *loop.View) {
	if at.Last == nil || at.Last.Reading.Used() < calib.MinPairs {
		p.lag.set("", theme.ColorNamePlaceHolder)
		p.side.set(i18n.L("no reading here yet"), theme.ColorNamePlaceHolder)
		return
	}
	lag := at.Last.LagMS
	ink, side := look.Late, i18n.F("ms late ± %.1f", at.Last.HalfMS)
	if lag < 0 {
		ink, side = look.Early, i18n.F("ms early ± %.1f", at.Last.HalfMS)
	}
	if at.Stage == loop.Tight {
		ink = look.Tight // the headline says so in words
	}
	p.lag.set(i18n.F("%.1f", math.Abs(lag)), ink)
	p.side.set(side, ink)
}

// showButtons offers what makes sense at this stage, the likeliest first and
// prominent.
func (p *loopPane) showButtons(at *loop.View, practice, cautioned bool) {
	moving, waiting, tight := at.Stage == loop.AwaitMove, at.Stage == loop.AwaitTake, at.Stage == loop.Tight
	p.turned.SetText(movedWords(at.Steps))
	shown := map[*button]bool{
		p.turned:   moving && cautioned,
		p.other:    moving && cautioned,
		p.playTake: waiting && practice,
		p.record:   waiting && !practice || tight && !practice,
		p.openTake: waiting || !practice,
		p.next:     tight,
		p.again:    tight && practice,
	}
	main := map[*button]bool{p.turned: true, p.playTake: true, p.next: true, p.record: waiting}
	for b, on := range shown {
		b.Importance = widget.MediumImportance
		if main[b] {
			b.Importance = widget.HighImportance
		}
		b.Hidden = !on
		b.Refresh()
	}
	p.stopLive.Hide()
	show(p.understood, moving && !cautioned)
	p.caution.Hidden = !moving
	p.root.Refresh()
}

// movedWords says that the plate was turned so far.
func movedWords(steps int) string {
	if steps < 0 {
		return i18n.F("Turned %d back", -steps)
	}
	return i18n.F("Turned %d ahead", steps)
}

// buttons lists those that are there while no take is played.
func (p *loopPane) buttons() []*button {
	return []*button{p.playTake, p.record, p.openTake, p.turned, p.other, p.next, p.again}
}

// enable lets the buttons be pressed, or not while a job runs.
func (p *loopPane) enable(on bool) {
	for _, b := range p.buttons() {
		if on {
			b.Enable()
		} else {
			b.Disable()
		}
	}
}

// turnedWords names the command of the enter key before and after the caution was
// acknowledged.
func (w *Window) turnedWords() string {
	if w.cautioned {
		return i18n.L("Turned as advised")
	}
	return i18n.L("I will stop the crank first")
}

// turnedOrCareful tells of the move, or acknowledges the caution where that has not
// been done yet. Under a dialog its key is for what is typed there: the menu gets it
// first.
func (w *Window) turnedOrCareful() {
	if !w.ready() {
		w.handOn(ctrl(fyne.KeyReturn))
		return
	}
	if !w.cautioned {
		w.acknowledge()
		return
	}
	w.turnedAsAdvised()
}
