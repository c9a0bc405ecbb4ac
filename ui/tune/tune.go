// Package tune is the loop: where it stands, what to do now, and telling what was done.
package tune

import (
	"fmt"
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/ui/desk"
	"lagwright/ui/dial"
	"lagwright/ui/findings"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/prefs"
	"lagwright/ui/sign"
)

// Pane says where the loop stands and what to do now, large enough to be
// read from the crank.
type Pane struct {
	d         *desk.Desk
	acts      Acts
	Cautioned bool      // the caution before moves was acknowledged in this machine
	Agreed    time.Time // when that was
	Asks      bool      // that is asked for; tests of other things leave it out

	Root    *fyne.Container
	Where   *sign.Sign
	Do, Why *sign.Sign
	Lag     *sign.Sign
	Side    *sign.Sign
	Whose   *sign.Sign // what the lag is of: voice, take and tempo
	Caution *fyne.Container
	Safe    *sign.Sign     // its words
	Found   *findings.Bar  // what the takes show, where the loop does not say so itself
	Cure    *findings.Cure // of a song whose voices no setting brings together
	Dial    *dial.Dial
	beside  *fyne.Container // lag and dial
	Far     *Far            // all this in large

	Understood *kit.Button // agrees to the caution; before that no move can be told
	Hint       *hintBar

	PlayTake, OpenTake, Turned, Other, Next *kit.Button
	StopLive                                *kit.Button
	Click                                   *kit.Tick // the guide click, while a take is recorded
}

// Acts are what its buttons do that others do for it.
type Acts struct {
	Play, Press, Open func()                // press starts or stops a take
	Machine, Cautions func()                // asks how it is built, shows the handbook's page
	Following         func() machine.Target // that of the set list's next song; zero = none
}

// New returns the pane; acts are what its buttons do elsewhere.
func New(d *desk.Desk, acts Acts) *Pane {
	p := &Pane{d: d, acts: acts,
		Where: sign.New(16, 15, 1, fyne.TextStyle{}, fyne.TextAlignLeading, 250),
		Do:    sign.New(44, 22, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 250),
		Why:   sign.New(17, 13, 3, fyne.TextStyle{}, fyne.TextAlignLeading, 250),
		Lag:   sign.New(104, 30, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignCenter, 180),
		Side:  sign.New(24, 22, 1, fyne.TextStyle{}, fyne.TextAlignCenter, 180),
		Whose: sign.New(22, 13, 1, fyne.TextStyle{}, fyne.TextAlignCenter, 180),
		Dial:  dial.New(), Far: newFar(),
		Safe:  sign.New(17, 15, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 200),
		Found: findings.New(d, acts.Machine), Cure: findings.NewCure(d, acts.Machine),
	}
	p.Understood = kit.NewButtonWithIcon(i18n.L("I will stop the crank first"), theme.ConfirmIcon(), p.acknowledge)
	p.Hint = newHintBar(p.SetHints)
	p.Caution = container.NewBorder(nil, nil, widget.NewIcon(theme.NewWarningThemedResource(theme.WarningIcon())), kit.NewIconButton(i18n.L("All cautions…"), theme.InfoIcon(), acts.Cautions), p.Safe)

	p.PlayTake = kit.NewButtonWithIcon(i18n.L("Play a take"), theme.MediaPlayIcon(), acts.Play)
	p.StopLive = kit.NewButtonWithIcon(i18n.L("Stop (space)"), theme.MediaStopIcon(), acts.Press).Bright()
	p.OpenTake = kit.NewButtonWithIcon(i18n.L("Open a recording…"), theme.FolderOpenIcon(), acts.Open)
	p.Turned = kit.NewButtonWithIcon(i18n.L("Turned"), theme.ConfirmIcon(), p.TurnedAsAdvised)
	p.Other = kit.NewButtonWithIcon(i18n.L("Turned a different amount…"), theme.DocumentCreateIcon(), p.AskMove)
	p.Next = kit.NewButtonWithIcon(i18n.L("Next tempo…"), theme.NavigateNextIcon(), p.AskTarget)
	p.Click = kit.NewTick(i18n.L("guide click (use headphones)"), false, func(on bool) { d.Prefs.SetBool(prefs.KeyClick, on) })
	buttons := kit.NewFlow(p.Understood, p.StopLive, p.Turned, p.Cure.Root, p.Next, p.PlayTake, p.OpenTake, p.Other, p.Click)

	p.Far.Offer(p.Understood, p.StopLive, p.Turned, p.Next, p.PlayTake, p.Other)

	left := container.NewBorder(p.Where, container.NewVBox(p.Why, p.Caution, buttons), nil, nil, p.Do)
	middle := container.NewBorder(nil, container.NewVBox(p.Side, container.NewStack(kit.Gap(28), p.Whose)), nil, nil, p.Lag)
	p.beside = container.NewHBox(kit.Sized(p.growing(250, 174), middle), container.NewCenter(kit.Sized(p.growing(218, 236), p.Dial)))
	p.Root = container.NewPadded(kit.Border(nil, container.NewVBox(p.Found.Root, p.Hint.Root, widget.NewSeparator()), nil,
		p.beside, left))
	return p
}

// Arrange lays lag and dial out side by side, or below each other where text is large.
func (p *Pane) Arrange(large bool) {
	if p.beside.Layout = layout.NewHBoxLayout(); large {
		p.beside.Layout = layout.NewVBoxLayout()
	}
}

// growing is a size that grows less than the text does, which has room to spare in it, and
// beside the sentence is no wider than a quarter of the window.
func (p *Pane) growing(wide, high float32) func() fyne.Size {
	return func() fyne.Size {
		grow := (1 + look.Times(theme.Current())) / 2
		size := fyne.NewSize(wide*grow, high*grow)
		if !kit.LargeText() {
			size.Width = min(size.Width, p.d.Win.Canvas().Size().Width/4)
		}
		return size
	}
}

// Show brings the pane up to the view. A standing mark says that a machine can only be read.
func (p *Pane) Show(at *loop.View, readOnly bool) {
	m := at.Machine
	p.Where.Set(where(m), theme.ColorNamePlaceHolder)
	if readOnly {
		p.Where.Set(i18n.L("Read only")+"  ·  "+where(m), look.Warn)
	}
	p.Do.Set(at.Do, theme.ColorNameForeground)
	if at.Stage == loop.Tight {
		p.Do.Set(at.Do, look.Tight)
	}
	p.Why.Set(at.Why, theme.ColorNameForeground)
	p.Safe.Set(i18n.L(findings.Safety)+behindWords(m.Build, at.Steps), look.Warn)
	if !at.Reach {
		p.Safe.Set(i18n.L("Wear eye and ear protection, tie back hair, sleeves and cables, keep others out of reach, sweep up shot; after lead shot wash your hands."), look.Warn)
	}
	p.Turned.SetText(i18n.Way(at.Steps, "Turned %d ahead", "Turned %d back"))
	p.Hint.show(m, at, map[bool]*kit.Button{false: p.Understood, true: p.Turned}[p.Cautioned].Text, p.d.Prefs.Hints())
	if p.Found.Show(at.Findings); len(at.Findings) > 0 {
		p.Hint.Root.Hide() // one thing at a time
	}
	p.ShowLag(at)
	for _, d := range p.dials() {
		d.SetPlate(m.Build.Plate.NotchesPerTurn)
		d.Set(at.Setting, at.Setting+at.Steps, at.Stage == loop.AwaitMove)
	}
	p.Click.Checked = p.d.Prefs.Bool(prefs.KeyClick)
	p.Click.Hidden = at.Stage != loop.AwaitTake && at.Stage != loop.Foretold || m.Build.PracticeSeed != 0
	p.Click.Refresh()
	p.showButtons(at, m.Build.PracticeSeed != 0)
}

// pastSteps is how far a move back goes past its setting, to come to it from
// behind: more than the play of a plate (common practice, no published source).
const pastSteps = 3

// behindWords reminds of the agreement to reach each setting from behind.
func behindWords(b machine.Build, steps int) string {
	switch {
	case !b.Unidirectional:
		return ""
	case steps < 0:
		return " " + i18n.F("As agreed: turn %d back, then %d ahead, to come from behind.", pastSteps-steps, pastSteps)
	}
	return " " + i18n.L("As agreed, end ahead: if you go past, go well back and come again.")
}

// where says in one line what is being tuned.
func where(m machine.Machine) string {
	words := i18n.F("%s  ·  %s  ·  %.4g BPM", m.Build.Name, m.Target.Voice, m.Target.TempoBPM)
	if m.Target.Song != "" {
		words += "  ·  " + m.Target.Song
	}
	return words
}

// ShowLag writes the lag that the headline speaks of, with its interval, and what it is of;
// where there is no reading, or one that is none to go by, it says so in its place.
func (p *Pane) ShowLag(at *loop.View) {
	n := at.Number
	if n == nil {
		p.Lag.Set("", theme.ColorNamePlaceHolder)
		p.Side.Set(i18n.L("no reading here yet"), theme.ColorNamePlaceHolder)
		p.Whose.Set("", theme.ColorNamePlaceHolder)
		return
	}
	of := i18n.F("by all takes, at %.4g BPM", n.BPM)
	switch {
	case n.FromBPM > 0:
		of = i18n.F("by take %d at %.4g BPM, played at %.4g", n.Take, n.BPM, n.FromBPM)
	case n.Take != 0:
		of = i18n.F("by take %d, at %.4g BPM", n.Take, n.BPM)
	}
	if len(at.Machine.Build.Voices) > 1 {
		of = n.Voice + "  ·  " + of
	}
	p.Whose.Set(of, theme.ColorNameForeground)
	ink, side := look.Late, i18n.F("ms late ± %.1f", n.HalfMS)
	if n.LagMS < 0 {
		ink, side = look.Early, i18n.F("ms early ± %.1f", n.HalfMS)
	}
	if at.Stage == loop.Tight {
		ink = look.Tight // the headline says so in words
	}
	p.Lag.Set(i18n.F("%.1f", math.Abs(n.LagMS)), ink)
	p.Side.Set(side, ink)
	if at.Vague() {
		p.Lag.Set(i18n.L("not known yet"), theme.ColorNameForeground)
		p.Side.Set(i18n.F("%s ± %.1f", calib.LateEarly(n.LagMS), n.HalfMS), theme.ColorNamePlaceHolder)
	}
}

// showButtons offers what makes sense at this stage, the likeliest first and
// prominent.
func (p *Pane) showButtons(at *loop.View, practice bool) {
	moving, waiting, settled := at.Stage == loop.AwaitMove, at.Stage == loop.AwaitTake, at.Stage >= loop.Foretold
	shown := map[*kit.Button]bool{
		p.Turned:     moving && p.Cautioned,
		p.Other:      moving && p.Cautioned,
		p.PlayTake:   waiting || settled,
		p.OpenTake:   waiting || !practice,
		p.Next:       settled,
		p.Understood: moving && !p.Cautioned,
	}
	// where no take tells more and no setting fits, the machine or the song has to change
	song := p.d.Song()
	stuck := waiting && song.Stands == loop.Hopeless && song.CureOpen() == "" && at.Next == nil
	main := map[*kit.Button]bool{p.Understood: true, p.Turned: true, p.PlayTake: at.Stage == loop.Foretold || waiting && !stuck, p.Next: at.Stage == loop.Tight}
	for b, on := range shown {
		b.Importance = widget.MediumImportance
		if main[b] {
			b.Importance = widget.HighImportance
		}
		b.Hidden = !on
	}
	p.PlayTake.Icon = map[bool]fyne.Resource{true: theme.MediaPlayIcon(), false: theme.MediaRecordIcon()}[practice]
	p.StopLive.Hidden = true
	p.Caution.Hidden = !at.Reach && (practice || len(at.Machine.Takes) > 0)
	p.Cure.Show(song.Parts)
	if p.Cure.Root.Importance = widget.MediumImportance; stuck {
		p.Cure.Root.Bright()
	}
	p.Root.Refresh()
}

// buttons lists those that are there while no take is played.
func (p *Pane) buttons() []*kit.Button {
	return []*kit.Button{p.PlayTake, p.OpenTake, p.Understood, p.Turned, p.Other, p.Next}
}

// Enable lets the buttons be pressed, or not while a job runs.
func (p *Pane) Enable(on bool) {
	for _, b := range p.buttons() {
		kit.Enable(b, on)
	}
	p.Far.show(p)
}

// ShowLive leads through a take in large letters.
func (p *Pane) ShowLive(m live.Moment, target machine.Target) {
	say := m.Say
	heard := target.Voice
	if p.d.Machine().HearsAll() {
		heard = i18n.L("all voices")
	}
	where := i18n.F("Recording  ·  %s  ·  %.4g BPM  ·  %.0f s", heard, target.TempoBPM, m.RecordedS)
	if m.Gaps > 0 {
		where += "  ·  " + i18n.N(m.Gaps, "%d gap, %.0f ms of sound lost", "%d gaps, %.0f ms of sound lost", m.Gaps, m.LostMS)
	}
	p.Where.Set(where, theme.ColorNamePlaceHolder)
	colour := theme.ColorNameForeground
	if say.Warns {
		colour = look.Warn
	}
	p.Do.Set(say.Big, colour)
	p.Why.Set(say.Small, theme.ColorNameForeground)
	p.Lag.Set("", theme.ColorNamePlaceHolder)
	p.Side.Set(i18n.L("listening for the crank"), theme.ColorNamePlaceHolder)
	p.Whose.Set("", theme.ColorNameForeground)
	if say.BPM > 0 {
		colour, word := look.Tight, i18n.L("BPM, on tempo")
		switch say.Tempo {
		case handsfree.TempoLow:
			colour, word = look.Warn, i18n.L("BPM, too slow")
		case handsfree.TempoHigh:
			colour, word = look.Warn, i18n.L("BPM, too fast")
		case handsfree.TempoUnknown:
			colour, word = theme.ColorNameForeground, i18n.L("BPM")
		}
		p.Lag.Set(fmt.Sprintf("%.0f", math.Round(say.BPM)), colour)
		p.Side.Set(word, colour)
	}
	for _, b := range p.buttons() {
		b.Hide()
	}
	p.StopLive.Show()
	p.Cure.Show(nil)
	p.Hint.Root.Hide()
	p.Click.Hide()
	p.Caution.Hide()
	p.Found.Show(nil)
	p.Root.Refresh()
	p.Far.show(p)
}
