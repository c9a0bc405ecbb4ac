package ui

import (
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/ui/look"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// begin asks for the caution anew, with another session.
func (p *loopPane) begin() { p.cautioned = !p.asks }

// acknowledge takes the caution before moves as read, for this session.
func (p *loopPane) acknowledge() {
	if p.d.Ready() && !p.cautioned {
		p.cautioned = true
		p.d.Refresh()
	}
}

// turnedAsAdvised records that the plate was turned as the window says.
func (p *loopPane) turnedAsAdvised() {
	if !p.d.Ready() {
		return
	}
	if at := p.d.View(); at.Stage == loop.AwaitMove {
		p.move(at.Steps, "")
	}
}

// move records what was done to the plate and shows it turning there.
func (p *loopPane) move(steps int, note string) {
	err := p.d.Bench.Moved(steps, note)
	if p.d.Do("", err); err == nil {
		p.dial.Turn(p.d.View().Setting)
	}
}

// askTarget asks for the next tempo, voice and song.
func (p *loopPane) askTarget() {
	if !p.d.MayChange() {
		return
	}
	s := p.d.Session()
	tempo := number("", session.MinTempoBPM, session.MaxTempoBPM, false)
	tempo.SetPlaceHolder(i18n.F("now %.4g", s.Target.TempoBPM))
	voice := newChoice(s.Machine.Voices, nil)
	voice.SetSelected(s.Target.Voice)
	song := newField("")
	p.d.Form(i18n.L("Next tempo"), i18n.L("Go on"), []*widget.FormItem{
		item(i18n.L("Tempo"), i18n.L("in BPM"), tempo),
		item(i18n.L("Voice"), "", voice),
		item(i18n.L("Song"), i18n.L("may be left empty"), song),
	}, func() {
		p.d.Aim(session.Target{Song: strings.TrimSpace(song.Text), TempoBPM: value(tempo), Voice: voice.Selected})
	})
	p.d.Focus(tempo)
}

// askMove asks what was really done to the plate.
func (p *loopPane) askMove() {
	if !p.d.MayChange() || len(p.d.Session().Takes) == 0 {
		return
	}
	steps := count(0, 1000, false)
	ahead, back := i18n.L("ahead (the voice strikes earlier)"), i18n.L("back (the voice strikes later)")
	way := newChoice([]string{ahead, back}, nil)
	way.SetSelected(ahead)
	if p.d.View().Steps < 0 {
		way.SetSelected(back)
	}
	note := newField("")
	p.d.Form(i18n.L("What was turned?"), i18n.L("Keep"), []*widget.FormItem{
		item(i18n.L("Steps"), i18n.F("from %s, where it is thought to stand; 0 if it was left there", look.Setting(p.d.View().Setting)), steps),
		item(i18n.L("Way"), "", way),
		item(i18n.L("Note"), i18n.L("may be left empty"), note),
	}, func() {
		n := int(value(steps))
		if way.Selected == back {
			n = -n
		}
		p.move(n, strings.TrimSpace(note.Text))
	})
	p.d.Focus(steps)
}

// commands are those on the plate and on what is aimed at.
func (p *loopPane) commands(ready bool) []*fyne.MenuItem {
	v := p.d.View()
	return []*fyne.MenuItem{
		Entry(p.turnedWords(), Ctrl(fyne.KeyReturn), ready && v.Stage == loop.AwaitMove, p.turnedOrCareful),
		Entry(i18n.L("Turned otherwise…"), CtrlShift(fyne.KeyReturn), ready && len(v.Session.Takes) > 0 && p.cautioned, p.askMove),
		Entry(i18n.L("Next tempo…"), Ctrl(fyne.KeyT), ready, p.askTarget),
	}
}
