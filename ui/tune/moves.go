package tune

import (
	"cmp"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// Begin asks for the caution anew, with another machine.
func (p *Pane) Begin() { p.Cautioned = !p.Asks }

// acknowledge takes the caution before moves as read, for this machine.
func (p *Pane) acknowledge() {
	if p.d.Ready() && !p.Cautioned {
		p.Cautioned, p.Agreed = true, time.Now()
		p.d.Refresh()
	}
}

// noPlateTurns is too short a time for the crank to come to rest and the plate to be
// turned: what is pressed that soon after agreeing to stop is a double click.
const noPlateTurns = time.Second

// TurnedAsAdvised records that the plate was turned as the window says. Under a dialog
// its key is for what is typed there: the menu gets it first.
func (p *Pane) TurnedAsAdvised() {
	if !p.d.Ready() {
		p.d.HandOn(kit.Ctrl(fyne.KeyReturn))
		return
	}
	if at := p.d.View(); at.Stage == loop.AwaitMove && p.Cautioned && time.Since(p.Agreed) > noPlateTurns {
		p.Move(at.Steps, "")
	}
}

// Press is what space, enter and the foot switch do: start a take or stop it. While the
// plate is to be turned a take would be kept at a setting that it may not have any more, so
// this is asked first; pressed once more, nothing is answered.
func (p *Pane) Press() {
	if !p.d.Deaf {
		p.BeforeTake(p.acts.Press)
	}
}

// BeforeTake asks what became of a move that was asked for and not told, if there is one,
// and then does what begins a take.
func (p *Pane) BeforeTake(do func()) {
	at := p.d.View()
	if at.Stage != loop.AwaitMove || !p.d.Ready() {
		do()
		return
	}
	if !p.d.MayChange() {
		return
	}
	done := kit.Answer{Words: p.Turned.Text, Do: p.TurnedAsAdvised}
	if !p.Cautioned {
		done = kit.Answer{Words: p.Understood.Text, Do: p.acknowledge}
	}
	p.d.Ask(i18n.Way(at.Steps, "Was the plate turned %d ahead?", "Was the plate turned %d back?"), p.Safe.Text, 0, kit.Answer{Words: i18n.L("Cancel")}, kit.Answer{Words: i18n.L("Not turned: record"), Do: func() { p.Move(0, ""); do() }}, done)
}

// Move records what was done to the plate and shows it turning there.
func (p *Pane) Move(steps int, note string) {
	err := p.d.Bench.Moved(steps, note)
	if p.d.Do("", err); err == nil {
		for _, d := range p.dials() {
			d.Turn(p.d.View().Setting)
		}
	}
}

// AskTarget asks for the next tempo, voice and song, and proposes the next song's.
func (p *Pane) AskTarget() {
	if !p.d.MayChange() {
		return
	}
	m, next := p.d.Machine(), p.acts.Following()
	tempo := kit.NewNumber(kit.Digits(next.TempoBPM), machine.MinTempoBPM, machine.MaxTempoBPM, false)
	tempo.SetPlaceHolder(i18n.F("now %.4g", m.Target.TempoBPM))
	voice := kit.NewChoice(m.Build.Voices, cmp.Or(next.Voice, m.Target.Voice), nil)
	song := kit.NewField(next.Song)
	p.d.Form(i18n.L("Next tempo"), i18n.L("Set the tempo"), []*widget.FormItem{
		kit.Item(i18n.L("Tempo"), i18n.L("in BPM"), tempo),
		kit.Item(i18n.L("Voice"), "", voice),
		kit.Item(i18n.L("Song"), i18n.L("may be left empty"), song),
	}, func() {
		p.d.Aim(machine.Target{Song: strings.TrimSpace(song.Text), TempoBPM: kit.ValueOf(tempo), Voice: voice.Selected})
	})
	check := tempo.OnChanged
	tempo.OnChanged = func(typed string) { // another tempo is not that song's
		if check(typed); !song.Changed() {
			song.SetText(map[float64]string{next.TempoBPM: next.Song}[kit.ValueOf(tempo)])
		}
	}
	p.d.Focus(tempo)
}

// AskMove asks what was really done to the plate.
func (p *Pane) AskMove() {
	if !p.Cautioned || !p.d.MayChange() || len(p.d.Machine().Takes) == 0 {
		return
	}
	steps := kit.NewCount("", 0, 1000, false)
	count := steps.Validator
	steps.Validator = func(s string) error {
		if v, err := kit.ParseNumber(s); err == nil && v < 0 {
			return i18n.Errorf("a number without a sign; choose back below")
		}
		return count(s)
	}
	ahead, back := i18n.L("ahead (the voice strikes earlier)"), i18n.L("back (the voice strikes later)")
	way := kit.NewChoice([]string{ahead, back}, ahead, nil)
	if p.d.View().Steps < 0 {
		way.SetSelected(back)
	}
	note := kit.NewField("")
	p.d.Form(i18n.L("How far was the plate turned?"), i18n.L("Keep"), []*widget.FormItem{
		kit.Item(i18n.L("Steps"), i18n.F("from %s, where it should stand; 0 if it was not turned", look.Setting(p.d.View().Setting)), steps),
		kit.Item(i18n.L("Direction"), "", way),
		kit.Item(i18n.L("Note"), i18n.L("may be left empty"), note),
	}, func() {
		n := int(kit.ValueOf(steps))
		if way.Selected == back {
			n = -n
		}
		p.Move(n, strings.TrimSpace(note.Text))
	})
	p.d.Focus(steps)
}

// Commands are those on the plate and on what is aimed at.
func (p *Pane) Commands(ready bool) []*fyne.MenuItem {
	v := p.d.View()
	return []*fyne.MenuItem{
		kit.Entry(i18n.L("I will stop the crank first"), kit.CtrlShift(fyne.KeyA), ready && !p.Cautioned, p.acknowledge),
		kit.Entry(i18n.L("Turned as advised"), kit.Ctrl(fyne.KeyReturn), ready && v.Stage == loop.AwaitMove && p.Cautioned, p.TurnedAsAdvised),
		kit.Entry(i18n.L("Turned a different amount…"), kit.CtrlShift(fyne.KeyReturn), ready && len(v.Machine.Takes) > 0 && p.Cautioned, p.AskMove),
		kit.Entry(i18n.L("Next tempo…"), kit.Ctrl(fyne.KeyT), ready, p.AskTarget),
	}
}
